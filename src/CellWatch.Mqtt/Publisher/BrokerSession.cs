using System.Buffers;
using System.Threading.Channels;
using CellWatch.Core.Live;
using Microsoft.Extensions.Logging;
using MQTTnet;
using MQTTnet.Protocol;

namespace CellWatch.Mqtt;

/// <summary>What a publisher shares with each of its sessions, one after the other; all for the sending task but what says otherwise.</summary>
internal sealed record SessionParts(
    string Site, Topics Topics, PublisherOptions Options, IOutbox Outbox, TimeProvider Time, ILogger Logger,
    SendingStatus Status, PayloadWriter Writer, ToldAlarms Told, LatestState Latest, ChannelReader<bool> News);

/// <summary>What is sent over one connection, from its beginning to its loss: presence, what waits, live values, farewell.</summary>
/// <param name="parts">The publisher's.</param>
/// <param name="link">The connection.</param>
/// <param name="connectedMs">When it was made, ms since 1970.</param>
internal sealed class BrokerSession(SessionParts parts, BrokerLink link, long connectedMs)
{
    /// <summary>Waiting messages sent before the newest live values get their turn (chosen, no source).</summary>
    private const int DrainAtOnce = 50;

    private LiveMessages? _live; // A new session knows nothing of what an earlier one sent: everything is due.
    private PackState? _lastLive;
    private long _lastLiveAt;

    private bool? Simulated => parts.Latest.State?.Simulated ?? parts.Options.Simulated;

    /// <summary>Sends until the program stops.</summary>
    /// <exception cref="LinkLostException">The connection was lost, or the broker does not take what is sent.</exception>
    public async Task RunAsync(CancellationToken stopping)
    {
        parts.Told.BeginLink();
        try
        {
            await BeginAsync(stopping);
            while (true)
            {
                if (!link.IsAlive) throw new LinkLostException(link.Lost);
                var drained = await DrainAsync(stopping);
                if (!parts.Status.IsSending)
                {
                    parts.Status.Sending(link.Broker);
                    parts.Logger.LogInformation("Sending by MQTT to {Broker}", link.Broker);
                }

                if (drained && !parts.Told.LeftOversAreDone && parts.Latest.State is { } state) await TellLeftOversAsync(state);
                var wait = await SendLiveAsync();
                if (drained) await WaitForNewsAsync(wait, stopping);
            }
        }
        finally
        {
            if (stopping.IsCancellationRequested) await FarewellAsync();
        }
    }

    /// <summary>
    /// Says that the program is there, reads back the alarms that the broker retains, and tells again what it has forgotten. The
    /// program's own presence, coming back behind the retained messages, marks their end.
    /// </summary>
    private async Task BeginAsync(CancellationToken stopping)
    {
        var online = parts.Writer.PresenceOf(parts.Site, Presence.Online, NowMs(), connectedMs, Simulated).ToArray();
        var end = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        string[] filters = [parts.Topics.AllAlarms, parts.Topics.Presence];
        var isAllowed = await link.ReadAsync(filters, (topic, payload, isRetained) =>
        {
            if (topic != parts.Topics.Presence && isRetained) parts.Told.Note(topic, payload);
            else if (topic == parts.Topics.Presence && !isRetained && payload.ToArray().AsSpan().SequenceEqual(online)) end.TrySetResult();
        });
        await SendSurelyAsync(parts.Topics.Presence, online, retain: true);
        try
        {
            if (isAllowed) await end.Task.WaitAsync(parts.Options.AnswerTimeout, parts.Time, stopping);
            else parts.Logger.LogWarning("The broker {Broker} does not let this program read {Topic}; after each loss of the connection all alarms are told again", link.Broker, parts.Topics.AllAlarms);
        }
        catch (TimeoutException) when (link.IsAlive)
        {
            parts.Logger.LogWarning("The broker {Broker} did not send back what it retains in time; what is missing is told again", link.Broker);
        }

        await link.StopReadingAsync(filters);
        foreach (var message in parts.Told.Forgotten()) await SendSurelyAsync(message.Topic, message.Payload, message.Retain);
    }

    /// <summary>Sends what waits, oldest first, each after the answer to the one before; true when nothing waits any more.</summary>
    private async Task<bool> DrainAsync(CancellationToken stopping)
    {
        for (var sent = 0; sent < DrainAtOnce; sent++)
        {
            stopping.ThrowIfCancellationRequested();
            if (!parts.Outbox.TryPeek(out var waiting)) return true;
            var isTaken = await SendSurelyAsync(waiting.Topic, waiting.Payload, waiting.Retain);
            parts.Outbox.Remove(waiting);
            if (isTaken) parts.Told.Add(waiting);
            if (!isTaken) parts.Logger.LogWarning("The broker {Broker} can never take message {Number} on {Topic}; it is given up", link.Broker, waiting.Number, waiting.Topic);
        }

        return parts.Outbox.Count == 0;
    }

    /// <summary>Once in a run, when the rules have had their chance: alarms of an earlier run that were not raised again.</summary>
    private async Task TellLeftOversAsync(PackState state)
    {
        if (parts.Time.GetElapsedTime(parts.Latest.FirstAt) < LeftOverAlarms.Chance) return;
        foreach (var (topic, alarm) in parts.Told.LeftOver.Take(state, parts.Told.IsTold))
            await SendSurelyAsync(topic, parts.Writer.AlarmNotKnown(alarm, state), retain: true);
        parts.Told.LeftOversAreDone = true;
    }

    /// <summary>Sends the newest state if it is new and due; else says how long to wait for the due time, null for news.</summary>
    private async Task<TimeSpan?> SendLiveAsync()
    {
        if (parts.Latest.State is not { } state || ReferenceEquals(state, _lastLive)) return null;
        if (_lastLive is not null && parts.Options.LeastPeriod - parts.Time.GetElapsedTime(_lastLiveAt) is { Ticks: > 0 } early) return early;
        (_lastLive, _lastLiveAt) = (state, parts.Time.GetTimestamp());
        if (_live is null || !ReferenceEquals(_live.Layout, state.Layout)) _live = new LiveMessages(state.Layout, parts.Topics, parts.Options, parts.Time);
        await _live.SendAsync(state, parts.Writer, link.SendAsync);
        return null;
    }

    private async Task WaitForNewsAsync(TimeSpan? atMost, CancellationToken stopping)
    {
        if (atMost is not { } limit)
        {
            await parts.News.ReadAsync(stopping);
            return;
        }

        using var timeout = new CancellationTokenSource(limit, parts.Time);
        using var either = CancellationTokenSource.CreateLinkedTokenSource(timeout.Token, stopping);
        try
        {
            await parts.News.ReadAsync(either.Token);
        }
        catch (OperationCanceledException) when (!stopping.IsCancellationRequested)
        {
            // The due time has come.
        }
    }

    /// <summary>What still waits, no permit, presence stopped, and a proper end of the connection, so that no reader waits for an expiry.</summary>
    private async Task FarewellAsync()
    {
        using var atMost = new CancellationTokenSource(parts.Options.AnswerTimeout, parts.Time);
        try
        {
            await DrainAsync(CancellationToken.None);
            await SendSurelyAsync(parts.Topics.Permit, parts.Writer.NoPermit(parts.Site, NowMs(), "the program was stopped", Simulated), retain: true);
            await SendSurelyAsync(parts.Topics.Presence, parts.Writer.PresenceOf(parts.Site, Presence.Stopped, NowMs(), connectedMs, Simulated), retain: true);
            await link.CloseAsync(atMost.Token);
        }
        catch (Exception e) when (e is LinkLostException or OperationCanceledException)
        {
            parts.Logger.LogInformation("The broker {Broker} was gone before the farewell; it sends the will instead", link.Broker);
        }
    }

    /// <summary>Sends a message at QoS 1; false when this very message can never be taken.</summary>
    private Task<bool> SendSurelyAsync(string topic, ReadOnlyMemory<byte> payload, bool retain) =>
        link.SendAsync(new MqttApplicationMessage
        {
            Topic = topic,
            Payload = new ReadOnlySequence<byte>(payload),
            Retain = retain,
            QualityOfServiceLevel = MqttQualityOfServiceLevel.AtLeastOnce,
            ContentType = "application/json",
        });

    private long NowMs() => parts.Time.GetUtcNow().ToUnixTimeMilliseconds();
}
