using System.Threading.Channels;
using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Logging;

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
    private readonly LatestState _latest = new();
    private readonly SessionParts _parts;
    private ChargePhase _phase;
    private long _eventsGivenUp;
    private long _linksLost;

    private readonly record struct Event(PackState State, AlarmTransition? Step, string? RunId);

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
        _parts = new SessionParts(siteName, _topics, options, outbox, time, logger, _status, _writer, new ToldAlarms(), _latest, _news.Reader);
    }

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

    /// <summary>Alarms of an earlier run that the broker has handed over so far.</summary>
    internal int LeftOverAlarmsFound => _parts.Told.LeftOver.Count;

    /// <summary>Takes one state; returns at once, whatever the broker does. Called by one task.</summary>
    public void Offer(PackState state)
    {
        _latest.Put(state, _time);
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
            var connectedMs = _time.GetUtcNow().ToUnixTimeMilliseconds();
            var will = _writer.PresenceOf(_site, Presence.Lost, null, connectedMs, _latest.State?.Simulated ?? _options.Simulated).ToArray();
            using var link = await BrokerLink.ConnectAsync(_options, _embedded, _topics, will, _time, Wake, stopping);
            await new BrokerSession(_parts, link, connectedMs).RunAsync(stopping);
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
}
