using System.Text;
using CellWatch.FrontEnds.Options;
using CellWatch.FrontEnds.Running;
using CellWatch.FrontEnds.SignalDatabase;
using CellWatch.FrontEnds.Transport;

namespace CellWatch.FrontEnds.SerialCan;

/// <summary>Turns the lines of a serial-line CAN adapter into readings, and opens and closes its channel.</summary>
internal sealed class SerialCanDecoder : IWireDecoder
{
    private const byte FrameReasons = (byte)SerialCanFault.BadStatus + 1;
    private static readonly TimeSpan AnswerWait = TimeSpan.FromMilliseconds(300);
    private static readonly int[] BitRatesKbit = [10, 20, 50, 100, 125, 250, 500, 800, 1000];

    private readonly SerialCanOptions _options;
    private readonly LinkJournal _journal;
    private readonly SignalFrameReader _frames;
    private readonly TimeProvider _time;
    private readonly bool _identityFromAdapter;
    private readonly LineSplitter _splitter = SerialCanLine.CreateSplitter();
    private CanFrame _frame;

    /// <param name="options">Bit rate and mode.</param>
    /// <param name="frames">Takes the frames.</param>
    /// <param name="journal">Gate and diagnostics.</param>
    /// <param name="time">For the waits while opening.</param>
    /// <param name="identityFromAdapter">Whether the adapter's own serial is the identity asked for.</param>
    /// <param name="hasIdentitySignal">Whether a signal on the bus says who is there.</param>
    /// <param name="saysOrigin">Whether a signal says if the values come from a model.</param>
    public SerialCanDecoder(SerialCanOptions options, SignalFrameReader frames, LinkJournal journal, TimeProvider time,
        bool identityFromAdapter, bool hasIdentitySignal, bool saysOrigin)
    {
        _options = options;
        _frames = frames;
        _journal = journal;
        _time = time;
        _identityFromAdapter = identityFromAdapter;
        CarriesIdentity = identityFromAdapter || hasIdentitySignal;
        SaysOrigin = saysOrigin;
        journal.Use(this);
    }

    public string Wire => "serial CAN";

    public int ReasonCount => FrameReasons + SignalFrameReader.ReasonCount;

    public bool CarriesIdentity { get; }

    public bool SaysOrigin { get; }

    /// <summary>The code of a bit rate in an <c>Sn</c> command; -1 where there is none.</summary>
    public static int BitRateCode(int kbit) => Array.IndexOf(BitRatesKbit, kbit);

    public string Words(byte reason) => reason < FrameReasons ? FaultWords.Of((SerialCanFault)reason) : SignalFrameReader.Words((SignalFrameFault)(reason - FrameReasons));

    public static byte FirstFrameReason => FrameReasons;

    public void Reset()
    {
        _splitter.Reset();
        _frames.Reset();
    }

    /// <summary>
    /// Close, ask for version and serial, set the bit rate, open. An adapter that never acknowledges is taken at its frames; one that refuses the
    /// bit rate or the opening is reported with its answer.
    /// </summary>
    public async ValueTask StartAsync(Stream stream, CancellationToken cancellation)
    {
        // Two bare CRs end a half-typed line; only before C, because some adapters repeat their last command on a bare CR.
        await SendAsync(stream, "\r\rC\r", cancellation);
        // Answers to these and frames still buffered from before are of no interest.
        await ReadAnswersAsync(stream, _ => false, cancellation);
        await SendAsync(stream, "V\r", cancellation);
        await ReadAnswersAsync(stream, kind => kind is SerialCanLineKind.Version or SerialCanLineKind.Refused, cancellation);
        await SendAsync(stream, "N\r", cancellation);
        await ReadAnswersAsync(stream, kind => kind is SerialCanLineKind.SerialNumber or SerialCanLineKind.Refused, cancellation);
        await CommandAsync(stream, $"S{BitRateCode(_options.BitRateKbit)}", $"the bit rate of {_options.BitRateKbit} kbit/s", cancellation);
        await CommandAsync(stream, _options.ListenOnly ? "L" : "O", _options.ListenOnly ? "opening to listen only (try \"listenOnly\": false)" : "opening", cancellation);
    }

    public async ValueTask StopAsync(Stream stream, CancellationToken cancellation)
    {
        using var limit = new CancellationTokenSource(AnswerWait);
        try
        {
            await SendAsync(stream, "C\r", limit.Token);
        }
        catch (Exception e) when (e is IOException or InvalidOperationException or OperationCanceledException or TimeoutException)
        {
            // The adapter is gone or slow; it stays as it is.
        }
    }

    public void Take(ReadOnlySpan<byte> bytes)
    {
        while (_splitter.TryTake(ref bytes, out var line, out var end)) TakeLine(line, end);
    }

    private SerialCanLineKind TakeLine(ReadOnlySpan<byte> line, LineEnd end)
    {
        var kind = SerialCanLine.Read(line, end, _options.CanFd, ref _frame, out var fault);
        if (!line.IsEmpty) _journal.Raw(line);
        switch (kind)
        {
            case SerialCanLineKind.Frame: _frames.Take(_frame, line); break;
            case SerialCanLineKind.Rejected: _journal.Bad(line, (byte)fault); break;
            case SerialCanLineKind.SerialNumber when _identityFromAdapter: _journal.Identify(line[1..]); break;
            case SerialCanLineKind.BusState when SerialCanStatus.TryReadBusState(line, out var state) && state.Condition == BusCondition.BusOff:
                _journal.Note("the adapter has switched itself off the bus: check bit rate, wiring and the two 120 ohm ends.");
                break;
        }

        return kind;
    }

    private async Task CommandAsync(Stream stream, string command, string what, CancellationToken cancellation)
    {
        await SendAsync(stream, command + "\r", cancellation);
        var answer = await ReadAnswersAsync(stream, kind => kind is SerialCanLineKind.Accepted or SerialCanLineKind.Refused, cancellation);
        if (answer == SerialCanLineKind.Refused)
            throw new PortException(PortFault.Refused, $"the CAN adapter refuses {what}: it answers '{command}' with BEL (07).");
    }

    /// <summary>Reads until a line of the wanted kind comes, or until nothing comes in time; frames before the opening are dropped.</summary>
    private async Task<SerialCanLineKind?> ReadAnswersAsync(Stream stream, Func<SerialCanLineKind, bool> isWanted, CancellationToken cancellation)
    {
        var buffer = new byte[256];
        using var limit = new CancellationTokenSource(AnswerWait, _time);
        using var both = CancellationTokenSource.CreateLinkedTokenSource(limit.Token, cancellation);
        try
        {
            while (true)
            {
                var length = await stream.ReadAsync(buffer, both.Token);
                if (length == 0) throw new IOException("closed by the other side");
                if (Scan(buffer.AsSpan(0, length), isWanted) is { } kind) return kind;
            }
        }
        catch (OperationCanceledException) when (!cancellation.IsCancellationRequested)
        {
            return null;
        }
    }

    private SerialCanLineKind? Scan(ReadOnlySpan<byte> bytes, Func<SerialCanLineKind, bool> isWanted)
    {
        SerialCanLineKind? found = null;
        while (_splitter.TryTake(ref bytes, out var line, out var end))
        {
            var kind = SerialCanLine.Read(line, end, _options.CanFd, ref _frame, out _);
            if (!line.IsEmpty) _journal.Raw(line);
            if (kind == SerialCanLineKind.SerialNumber && _identityFromAdapter) _journal.Identify(line[1..]);
            if (isWanted(kind)) found ??= kind;
        }

        return found;
    }

    private static async Task SendAsync(Stream stream, string text, CancellationToken cancellation) =>
        await stream.WriteAsync(Encoding.ASCII.GetBytes(text), cancellation);
}
