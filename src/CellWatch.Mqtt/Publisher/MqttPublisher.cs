using System.Buffers;
using System.Threading.Channels;
using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Logging;
using MQTTnet;
using MQTTnet.Protocol;

namespace CellWatch.Mqtt;

/// <summary>
/// Publishes states to one broker, embedded or external. Two guarantees: live values are sent as they are when the broker takes
/// them, the newest only; alarms and runs go through the outbox, in order and each until the broker has acknowledged it.
/// <code>
/// Offer ──▶ newest state (one place) ───────────────▶ send loop ──▶ broker     one loop: connect, drain, send live, wait;
///       └─▶ alarm steps, phases (queue) ─▶ outbox ──▶                          on any failure: say so, pause, again
/// </code>
/// </summary>
public sealed class MqttPublisher : BackgroundService, IPackStateSink
{
    /// <summary>Steps between the pack's task and the outbox: more than any snapshot makes (a pack has fewer alarms than that).</summary>
    private const int EventQueue = 4096;

    /// <summary>Waiting messages sent before the newest live values get their turn.</summary>
    private const int DrainAtOnce = 50;

    private readonly string _site;
    private readonly Topics _topics;
    private readonly PublisherOptions _options;
    private readonly IOutbox _outbox;
    private readonly EmbeddedBroker? _embedded;
    private readonly TimeProvider _time;
    private readonly ILogger _logger;
    private readonly SendingStatus _status;
    private readonly GrowingPause _pause;
    private readonly PayloadWriter _writer = new();
    private readonly Channel<Event> _events;
    private readonly Channel<bool> _news = Channel.CreateBounded<bool>(new BoundedChannelOptions(1) { FullMode = BoundedChannelFullMode.DropWrite });
    private PackState? _latest;
    private ChargePhase _phase;
    private long _lastLiveAt;
    private PackState? _lastLive;
    private readonly HashSet<string> _toldBefore = new(StringComparer.Ordinal);
    private readonly HashSet<string> _toldOverThisLink = new(StringComparer.Ordinal);
    private LiveMessages? _live;

    /// <summary>Makes a publisher; as a hosted service it connects by itself.</summary>
    /// <param name="siteName">The site's name, the root of its topics.</param>
    /// <param name="options">Which broker, how often.</param>
    /// <param name="outbox">Where alarms wait; the caller disposes it.</param>
    /// <param name="time">Clock.</param>
    /// <param name="logger">For what a person should know.</param>
    /// <param name="embedded">The embedded broker, which the publisher then opens; null for an external one.</param>
    public MqttPublisher(string siteName, PublisherOptions options, IOutbox outbox, TimeProvider time, ILogger<MqttPublisher> logger, EmbeddedBroker? embedded = null)
    {
        (_site, _topics, _options, _outbox, _time, _logger, _embedded) = (siteName, new Topics(siteName), options, outbox, time, logger, embedded);
        _status = new SendingStatus(outbox, time);
        _pause = new GrowingPause(options.FirstPause, options.LongestPause);
        _events = Channel.CreateBounded<Event>(new BoundedChannelOptions(EventQueue) { FullMode = BoundedChannelFullMode.DropOldest, SingleReader = true },
            _ => Interlocked.Increment(ref _eventsGivenUp));
    }

    private long _eventsGivenUp;
    private long _linksLost;

    private readonly record struct Event(PackState State, AlarmTransition? Step, string? RunId);

    /// <inheritdoc/>
    public string Name => "MQTT";

    /// <summary>Its topics.</summary>
    public Topics Topics => _topics;

    /// <summary>Whether messages reach the broker, in words for the page; cheap, from any thread.</summary>
    public SendingView Sending => _status.View;

    /// <summary>Steps that never reached the outbox because its disk stood still for thousands of them.</summary>
    public long EventsGivenUp => Interlocked.Read(ref _eventsGivenUp);

    /// <summary>Connections that were lost or could not be made, since the start.</summary>
    public long LinksLost => Interlocked.Read(ref _linksLost);

    /// <summary>Takes one state; returns at once, whatever the broker does. Called by one task.</summary>
    public void Offer(PackState state)
    {
        Volatile.Write(ref _latest, state);
        foreach (var step in state.Transitions) _events.Writer.TryWrite(new Event(state, step, null));
        if (state.Charge is { } charge && charge.Phase != _phase)
        {
            _phase = charge.Phase;
            if (charge.BeganUnixMs is { } began) _events.Writer.TryWrite(new Event(state, null, RunId(began)));
        }

        Wake();
    }

    /// <inheritdoc/>
    public override void Dispose()
    {
        _writer.Dispose();
        base.Dispose();
    }

    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        var intake = Task.Run(FillOutboxAsync, CancellationToken.None);
        try
        {
            while (!stoppingToken.IsCancellationRequested)
            {
                await RunLinkAsync(stoppingToken);
                var pause = Task.Delay(_pause.Take(), _time, stoppingToken);
                Interlocked.Increment(ref _linksLost);
                await pause;
            }
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The program stops.
        }
        finally
        {
            _events.Writer.TryComplete();
            await intake;
        }
    }

    private static string RunId(long beganUnixMs) =>
        $"charge-{DateTimeOffset.FromUnixTimeMilliseconds(beganUnixMs).UtcDateTime:yyyyMMdd'T'HHmmss'Z'}";

    private void Wake() => _news.Writer.TryWrite(true);

    /// <summary>Alarm steps to the outbox, in order, whether or not there is a broker; ends when no more can come.</summary>
    private async Task FillOutboxAsync()
    {
        using var writer = new PayloadWriter();
        await foreach (var e in _events.Reader.ReadAllAsync())
        {
            try
            {
                var number = _outbox.NextNumber;
                if (e.Step is { } step) _outbox.Add(_topics.Alarm(step.Id), writer.Alarm(number, step, e.State).Span, retain: true);
                else if (e.RunId is { } run) _outbox.Add(_topics.Run(run), writer.ChargeRun(number, run, e.State.Charge!, e.State).Span, retain: false);
            }
            catch (Exception fault)
            {
                // One message that cannot be written must not keep the later ones back.
                _logger.LogError(fault, "The message for {Alarm} could not be written and is not sent by MQTT", e.Step?.Id ?? e.RunId);
            }

            Wake();
        }
    }

    /// <summary>One connection from connect to loss. Returns when it is lost or none could be made; says which.</summary>
    private async Task RunLinkAsync(CancellationToken stopping)
    {
        var began = _time.GetTimestamp();
        try
        {
            if (_embedded is not null) await _embedded.StartAsync();
            var connectedMs = NowMs();
            var will = _writer.PresenceOf(_site, Presence.Lost, null, connectedMs, Volatile.Read(ref _latest)?.Simulated).ToArray();
            using var link = await BrokerLink.ConnectAsync(_options, _embedded, _topics, will, _time, Wake, stopping);
            try
            {
                await SendOverAsync(link, connectedMs, stopping);
            }
            finally
            {
                if (stopping.IsCancellationRequested) await FarewellAsync(link, connectedMs);
            }
        }
        catch (Exception e) when (e is LinkLostException or BrokerStartException)
        {
            // A link that lasted earns a quick new attempt; one that broke at once does not.
            if (_status.IsSending && _time.GetElapsedTime(began) > _options.LongestPause) _pause.Reset();
            if (_status.NotSending(e.Message)) _logger.LogWarning("NOT SENDING by MQTT: {Why}", e.Message);
        }
        catch (Exception e) when (!stopping.IsCancellationRequested)
        {
            // A fault nobody foresaw must not end the program: supervision goes on without MQTT, and says so.
            if (_status.NotSending($"unexpected fault: {e.Message}")) _logger.LogError(e, "NOT SENDING by MQTT");
        }
    }

    private async Task SendOverAsync(BrokerLink link, long connectedMs, CancellationToken stopping)
    {
        _live = null; // This broker may know nothing yet: everything is due.
        _lastLive = null;
        _toldBefore.UnionWith(_toldOverThisLink);
        _toldOverThisLink.Clear();
        var mayHaveForgotten = !link.IsSessionPresent && _embedded is not { KeepsRetained: true };
        await SendRetainedAsync(link, _topics.Presence, _writer.PresenceOf(_site, Presence.Online, NowMs(), connectedMs, Volatile.Read(ref _latest)?.Simulated));
        while (true)
        {
            if (!link.IsAlive) throw new LinkLostException(link.Lost);
            var drained = await DrainAsync(link, stopping);
            if (!_status.IsSending)
            {
                _status.Sending(link.Broker);
                _logger.LogInformation("Sending by MQTT to {Broker}", link.Broker);
            }

            if (drained && mayHaveForgotten && Volatile.Read(ref _latest) is { } state)
            {
                await RepeatAlarmsAsync(link, state);
                mayHaveForgotten = false;
            }

            var wait = await SendLiveAsync(link);
            if (drained) await WaitForNewsAsync(wait, stopping);
        }
    }

    /// <summary>Sends what waits, oldest first, each after the answer to the one before; true when nothing waits any more.</summary>
    private async Task<bool> DrainAsync(BrokerLink link, CancellationToken stopping)
    {
        for (var sent = 0; sent < DrainAtOnce; sent++)
        {
            stopping.ThrowIfCancellationRequested();
            if (!_outbox.TryPeek(out var waiting)) return true;
            var taken = await link.SendAsync(new MqttApplicationMessage
            {
                Topic = waiting.Topic,
                Payload = new ReadOnlySequence<byte>(waiting.Payload),
                Retain = waiting.Retain,
                QualityOfServiceLevel = MqttQualityOfServiceLevel.AtLeastOnce,
                ContentType = "application/json",
            });
            _outbox.Remove(waiting);
            _toldOverThisLink.Add(waiting.Topic);
            if (!taken) _logger.LogWarning("The broker {Broker} can never take message {Number} on {Topic}; it is given up", link.Broker, waiting.Number, waiting.Topic);
        }

        return _outbox.Count == 0;
    }

    /// <summary>
    /// Alarms that were told over an earlier connection as they stand now, marked as a repetition, to a broker that does not remember this program and so may have lost what it
    /// was given: a lost alarm must not look like no alarm.
    /// </summary>
    private async Task RepeatAlarmsAsync(BrokerLink link, PackState state)
    {
        foreach (var alarm in state.Alarms)
        {
            var topic = _topics.Alarm(alarm.Id);
            if (_toldBefore.Contains(topic) && !_toldOverThisLink.Contains(topic)) await SendRetainedAsync(link, topic, _writer.AlarmAgain(alarm, state));
        }
    }

    /// <summary>Sends the newest state if it is new and due; else says how long to wait for the due time, null for news.</summary>
    private async Task<TimeSpan?> SendLiveAsync(BrokerLink link)
    {
        if (Volatile.Read(ref _latest) is not { } state || ReferenceEquals(state, _lastLive)) return null;
        if (_lastLive is not null && _options.LeastPeriod - _time.GetElapsedTime(_lastLiveAt) is { Ticks: > 0 } early) return early;
        (_lastLive, _lastLiveAt) = (state, _time.GetTimestamp());
        if (_live is null || !ReferenceEquals(_live.Layout, state.Layout)) _live = new LiveMessages(state.Layout, _topics, _options, _time);
        await _live.SendAsync(state, _writer, link.SendAsync);
        return null;
    }

    private async Task WaitForNewsAsync(TimeSpan? atMost, CancellationToken stopping)
    {
        if (atMost is not { } limit)
        {
            await _news.Reader.ReadAsync(stopping);
            return;
        }

        using var timeout = new CancellationTokenSource(limit, _time);
        using var either = CancellationTokenSource.CreateLinkedTokenSource(timeout.Token, stopping);
        try
        {
            await _news.Reader.ReadAsync(either.Token);
        }
        catch (OperationCanceledException) when (!stopping.IsCancellationRequested)
        {
            // The due time has come.
        }
    }

    /// <summary>No permit, presence stopped, and a proper end of the connection, so that no reader waits for an expiry.</summary>
    private async Task FarewellAsync(BrokerLink link, long connectedMs)
    {
        using var atMost = new CancellationTokenSource(_options.AnswerTimeout, _time);
        var simulated = Volatile.Read(ref _latest)?.Simulated;
        try
        {
            await SendRetainedAsync(link, _topics.Permit, _writer.NoPermit(_site, NowMs(), "the program was stopped", simulated));
            await SendRetainedAsync(link, _topics.Presence, _writer.PresenceOf(_site, Presence.Stopped, NowMs(), connectedMs, simulated));
            await link.CloseAsync(atMost.Token);
        }
        catch (Exception e) when (e is LinkLostException or OperationCanceledException)
        {
            _logger.LogInformation("The broker {Broker} was gone before the farewell; it sends the will instead", link.Broker);
        }
    }

    private static Task<bool> SendRetainedAsync(BrokerLink link, string topic, ReadOnlyMemory<byte> payload) =>
        link.SendAsync(new MqttApplicationMessage
        {
            Topic = topic,
            Payload = new ReadOnlySequence<byte>(payload),
            Retain = true,
            QualityOfServiceLevel = MqttQualityOfServiceLevel.AtLeastOnce,
            ContentType = "application/json",
        });

    private long NowMs() => _time.GetUtcNow().ToUnixTimeMilliseconds();
}
