using System.Text;
using Xunit;

namespace CellWatch.Mqtt.Tests.Outbox;

public sealed class FileOutboxTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("cellwatch-outbox").FullName;

    private string FilePath => Path.Combine(_folder, "site", "outbox.txt");

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    private FileOutbox Open(int capacity = MemoryOutbox.DefaultCapacity) => new(FilePath, capacity);

    private static void Add(FileOutbox outbox, params string[] texts)
    {
        foreach (var text in texts) outbox.Add("petrel/alarm/a", Encoding.UTF8.GetBytes(text), retain: true);
    }

    private static string[] TakeAll(FileOutbox outbox)
    {
        var all = new List<string>();
        while (outbox.TryPeek(out var message))
        {
            all.Add($"{message.Number} {Encoding.UTF8.GetString(message.Payload.Span)}");
            outbox.Remove(message);
        }

        return [.. all];
    }

    private static void DeliverFirst(FileOutbox outbox)
    {
        Assert.True(outbox.TryPeek(out var first));
        outbox.Remove(first);
    }

    [Fact]
    public void What_waits_is_there_after_the_program_was_killed_in_order()
    {
        var killed = Open(); // Not disposed: a killed program closes nothing by itself.
        Add(killed, "{\"a\":1}", "{\"b\":\"−18 mV\"}", "{\"c\":3}");
        using var next = Open();
        Assert.Equal(["1 {\"a\":1}", "2 {\"b\":\"−18 mV\"}", "3 {\"c\":3}"], TakeAll(next));
        killed.Dispose();
    }

    [Fact]
    public void What_was_delivered_does_not_come_back_and_numbers_go_on()
    {
        var killed = Open();
        Add(killed, "a", "b");
        DeliverFirst(killed);
        DeliverFirst(killed);
        killed.Dispose();
        using (var second = Open())
        {
            Assert.Equal(0, second.Count);
            Assert.Equal(3, second.NextNumber);
        }

        using var third = Open();
        Add(third, "c");
        Assert.Equal(["3 c"], TakeAll(third));
    }

    [Fact]
    public void A_torn_last_line_costs_only_itself()
    {
        using (var outbox = Open()) Add(outbox, "a", "b", "c");
        var bytes = File.ReadAllBytes(FilePath);
        File.WriteAllBytes(FilePath, bytes[..^7]);
        using var next = Open();
        Assert.Equal(1, next.DamagedLines);
        // Number 3 may have reached a reader before the power went: it is not given again.
        Assert.Equal(4, next.NextNumber);
        Assert.Equal(["1 a", "2 b"], TakeAll(next));
    }

    [Fact]
    public void A_changed_line_in_the_middle_costs_only_itself()
    {
        using (var outbox = Open()) Add(outbox, "first", "second", "third");
        File.WriteAllText(FilePath, File.ReadAllText(FilePath).Replace("second", "sec0nd", StringComparison.Ordinal));
        using var next = Open();
        Assert.Equal(1, next.DamagedLines);
        Assert.Equal(["1 first", "3 third"], TakeAll(next));
    }

    [Fact]
    public void A_file_that_is_something_else_starts_empty()
    {
        Directory.CreateDirectory(Path.GetDirectoryName(FilePath)!);
        File.WriteAllBytes(FilePath, [0, 1, 2, 10, 200, 201, 9, 9, 10]);
        using var outbox = Open();
        Assert.Equal(0, outbox.Count);
        Add(outbox, "a");
        Assert.Equal("", outbox.Fault);
    }

    [Fact]
    public void When_it_is_full_the_oldest_is_given_up_and_counted()
    {
        using (var outbox = Open(capacity: 3))
        {
            Add(outbox, "a", "b", "c", "d", "e");
            Assert.Equal(2, outbox.GivenUp);
        }

        using var next = Open(capacity: 3);
        Assert.Equal(["3 c", "4 d", "5 e"], TakeAll(next));
    }

    [Fact]
    public void The_file_does_not_grow_with_what_was_delivered()
    {
        using var outbox = new FileOutbox(FilePath, capacity: 100, rewriteAfter: 20);
        Add(outbox, "waits");
        Assert.True(outbox.TryPeek(out var waits));
        for (var n = 0; n < 100; n++)
        {
            var message = outbox.Add("petrel/alarm/a", "passes"u8, retain: true);
            outbox.Remove(message);
        }

        Assert.InRange(File.ReadAllLines(FilePath).Length, 1, 45);
        using var next = Open();
        Assert.Equal(102, next.NextNumber);
        Assert.Equal([$"{waits.Number} waits"], TakeAll(next));
    }

    [Fact]
    public void A_path_that_cannot_be_written_keeps_messages_in_memory_and_says_so()
    {
        File.WriteAllText(Path.Combine(_folder, "site"), "a file where the folder should be");
        using var outbox = Open();
        Add(outbox, "a");
        Assert.Contains("kept in memory only", outbox.Fault, StringComparison.Ordinal);
        Assert.Contains(FilePath, outbox.Fault, StringComparison.Ordinal);
        Assert.Equal(["1 a"], TakeAll(outbox));
    }

    [Fact]
    public void When_the_disk_comes_back_all_that_waits_is_written()
    {
        var blocking = Path.Combine(_folder, "site");
        File.WriteAllText(blocking, "");
        using (var outbox = Open())
        {
            Add(outbox, "a");
            File.Delete(blocking);
            Directory.CreateDirectory(blocking);
            Add(outbox, "b");
            Assert.Equal("", outbox.Fault);
        }

        using var next = Open();
        Assert.Equal(["1 a", "2 b"], TakeAll(next));
    }

    [Fact]
    public void The_checksum_is_CRC_32C() =>
        // Check value of CRC-32C (Castagnoli, iSCSI, RFC 3720) over the ASCII digits 1 to 9.
        Assert.Equal(0xE3069283u, OutboxLine.Crc32C("123456789"u8));
}
