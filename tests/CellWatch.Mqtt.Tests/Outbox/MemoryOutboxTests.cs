using Xunit;

namespace CellWatch.Mqtt.Tests.Outbox;

public sealed class MemoryOutboxTests
{
    [Fact]
    public void A_message_that_was_given_up_while_it_was_on_its_way_takes_no_other_with_it()
    {
        var outbox = new MemoryOutbox(capacity: 2);
        outbox.Add("t", "a"u8, retain: true);
        Assert.True(outbox.TryPeek(out var onItsWay));
        outbox.Add("t", "b"u8, retain: true);
        outbox.Add("t", "c"u8, retain: true);
        outbox.Remove(onItsWay);
        Assert.Equal(2, outbox.Count);
        Assert.Equal(1, outbox.GivenUp);
        Assert.True(outbox.TryPeek(out var next));
        Assert.Equal(2, next.Number);
    }

    [Fact]
    public void A_payload_is_copied()
    {
        var outbox = new MemoryOutbox();
        byte[] buffer = [1, 2, 3];
        outbox.Add("t", buffer, retain: false);
        buffer[0] = 9;
        Assert.True(outbox.TryPeek(out var message));
        Assert.Equal([1, 2, 3], message.Payload.ToArray());
    }
}
