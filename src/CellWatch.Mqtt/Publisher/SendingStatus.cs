using System.Globalization;
using CellWatch.Core.Live;

namespace CellWatch.Mqtt;

/// <summary>Whether messages reach the broker and since when not; read from any thread.</summary>
/// <param name="outbox">What waits.</param>
/// <param name="time">For the label of "since".</param>
internal sealed class SendingStatus(IOutbox outbox, TimeProvider time)
{
    private sealed record Link(bool IsSending, DateTimeOffset Since, string Why, string Broker);

    private volatile Link _link = new(false, time.GetLocalNow(), T("not connected yet"), "");
    private volatile Shown? _shown;

    private sealed record Shown(Link Link, int Waiting, long GivenUp, string Fault, SendingView View);

    /// <summary>Whether messages reach the broker.</summary>
    public bool IsSending => _link.IsSending;

    /// <summary>In words, for the page.</summary>
    public SendingView View
    {
        get
        {
            var (link, shown, waiting, givenUp, fault) = (_link, _shown, outbox.Count, outbox.GivenUp, outbox.Fault);
            if (shown is not null && ReferenceEquals(shown.Link, link) && shown.Waiting == waiting && shown.GivenUp == givenUp && shown.Fault == fault)
                return shown.View;
            var view = new SendingView(link.IsSending, Sentence(link, waiting, givenUp, fault));
            _shown = new Shown(link, waiting, givenUp, fault, view);
            return view;
        }
    }

    /// <summary>The broker takes messages.</summary>
    public void Sending(string broker) => _link = new Link(true, time.GetLocalNow(), "", broker);

    /// <summary>It does not. True when this is news: it was sending, or for another reason not.</summary>
    public bool NotSending(string why)
    {
        var before = _link;
        if (!before.IsSending && before.Why == why) return false;
        _link = new Link(false, before.IsSending ? time.GetLocalNow() : before.Since, why, "");
        return true;
    }

    private string Sentence(Link link, int waiting, long givenUp, string fault)
    {
        var sentence = link.IsSending ? T($"sending to {link.Broker}") : T($"NOT SENDING since {Clock(link.Since)}: {link.Why.TrimEnd('.')}");
        if (!link.IsSending && waiting > 0)
            sentence += T($". {waiting} alarm and run {(waiting == 1 ? T("message waits") : T("messages wait"))} and will be sent in order");
        if (givenUp > 0)
            sentence += T($". The queue was full: the {givenUp} oldest {(givenUp == 1 ? T("was") : T("were"))} given up");
        return fault.Length == 0 ? sentence : $"{sentence}. {fault}";
    }

    private string Clock(DateTimeOffset since) =>
        since.ToString(since.Date == time.GetLocalNow().Date ? "HH:mm" : "yyyy-MM-dd HH:mm", CultureInfo.InvariantCulture);
}
