using System.Buffers;
using System.Globalization;
using System.Numerics;
using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using CellWatch.FrontEnds.LinuxCan;
using CellWatch.FrontEnds.SerialCan;
using CellWatch.FrontEnds.SignalDatabase;

namespace CellWatch.FrontEnds.FrameFiles;

/// <summary>What kind of file holds the frames.</summary>
public enum FrameFileFormat
{
    /// <summary>Found out from its first lines.</summary>
    Detect,

    /// <summary>A candump log, one frame a line.</summary>
    Candump,

    /// <summary>Bytes captured from a serial-line CAN adapter.</summary>
    SerialCan,
}

/// <summary>What was in a file.</summary>
/// <param name="Format">The format that was read.</param>
/// <param name="Frames">Well-formed frames.</param>
/// <param name="Malformed">Lines that should be a frame and are not.</param>
/// <param name="UnknownIds">Frames the database does not know.</param>
/// <param name="Undecoded">Frames of a known message on an unknown page, too short, or without data.</param>
/// <param name="Dropped">Frames the log itself says were lost before they reached the file.</param>
public readonly record struct FrameFileSummary(
    FrameFileFormat Format, long Frames, long Malformed, long UnknownIds, long Undecoded, long Dropped);

/// <summary>
/// Decodes a file of frames with a signal database: one JSON object a line, in file order, for every line that should be a frame:
/// <code>{"time":1436509052.249713,"id":"100","message":"M01_Cells_01_04","signals":{"M01_C01_V":3.6921,...}}</code>
/// <c>time</c> is the log's stamp in seconds (or the adapter's own within its minute), null where there is none; <c>id</c> upper-case hex, 3 digits
/// for 11 bits, 8 for 29; values that are not finite, and integers beyond 2^53, are strings. <c>error</c> says what is wrong with a line.
/// </summary>
public static class FrameFileDecoder
{
    private const int BlockLength = 64 * 1024;
    private static readonly BigInteger ExactLimit = BigInteger.One << 53;

    /// <summary>Decodes a whole file.</summary>
    /// <param name="input">The file's bytes.</param>
    /// <param name="database">What the frames mean.</param>
    /// <param name="output">Receives the lines, each ended by <c>\n</c>.</param>
    /// <param name="format">What the file is.</param>
    /// <param name="bytesRead">Told the bytes read so far, once a block of 64 KiB.</param>
    /// <param name="cancellation">Stops between two blocks.</param>
    public static FrameFileSummary Decode(Stream input, CanDatabase database, TextWriter output,
        FrameFileFormat format = FrameFileFormat.Detect, Action<long>? bytesRead = null, CancellationToken cancellation = default)
    {
        var block = ArrayPool<byte>.Shared.Rent(BlockLength);
        try
        {
            var length = input.ReadAtLeast(block, BlockLength, throwOnEndOfStream: false);
            if (format == FrameFileFormat.Detect) format = Detect(block.AsSpan(0, length));
            using var run = new Run(database, output, format);
            for (long total = 0; length > 0; length = input.Read(block))
            {
                cancellation.ThrowIfCancellationRequested();
                run.Take(block.AsSpan(0, length));
                total += length;
                bytesRead?.Invoke(total);
            }

            return run.Finish();
        }
        finally
        {
            ArrayPool<byte>.Shared.Return(block);
        }
    }

    /// <summary>A candump line begins with its time in brackets, an adapter's line with a letter; the majority of the first lines decides.</summary>
    internal static FrameFileFormat Detect(ReadOnlySpan<byte> beginning)
    {
        var votes = 0;
        foreach (var range in beginning.SplitAny((byte)'\r', (byte)'\n', SerialCanLine.Bell))
        {
            var line = beginning[range].TrimStart((byte)' ');
            if (line.StartsWith("("u8) || line.StartsWith("DROPCOUNT"u8)) votes++;
            else if (line.Length > 1 && "tTrRdDbB"u8.Contains(line[0]) && Hex.Digit(line[1]) >= 0) votes--;
        }

        return votes > 0 ? FrameFileFormat.Candump : FrameFileFormat.SerialCan;
    }

    private sealed class Run : IDisposable
    {
        private readonly CanDatabase _database;
        private readonly TextWriter _output;
        private readonly FrameFileFormat _format;
        private readonly LineSplitter _splitter;
        private readonly SignalValue[] _values;
        private readonly ArrayBufferWriter<byte> _text = new();
        private readonly Utf8JsonWriter _json;
        private CanFrame _frame;
        private FrameFileSummary _summary;

        public Run(CanDatabase database, TextWriter output, FrameFileFormat format)
        {
            _database = database;
            _output = output;
            _format = format;
            _values = new SignalValue[Math.Max(1, database.MaxSignals)];
            _splitter = format == FrameFileFormat.Candump ? new LineSplitter(CandumpLine.Longest, "\r\n"u8) : SerialCanLine.CreateSplitter();
            _json = new Utf8JsonWriter(_text, new JsonWriterOptions { Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping });
            _summary = new FrameFileSummary { Format = format };
        }

        public void Dispose() => _json.Dispose();

        public void Take(ReadOnlySpan<byte> bytes)
        {
            while (_splitter.TryTake(ref bytes, out var line, out var end)) TakeLine(line, end);
        }

        public FrameFileSummary Finish()
        {
            // A last line without its end is read too: its own length tells whether it is whole.
            ReadOnlySpan<byte> end = "\n"u8;
            if (_splitter.HasPending && _splitter.TryTake(ref end, out var line, out var how)) TakeLine(line, how);
            _output.Flush();
            return _summary;
        }

        private void TakeLine(ReadOnlySpan<byte> line, LineEnd end)
        {
            if (_format == FrameFileFormat.Candump) TakeCandump(line, end);
            else TakeSerialCan(line, end);
        }

        private void TakeCandump(ReadOnlySpan<byte> line, LineEnd end)
        {
            switch (CandumpLine.Read(line, ref _frame, out var time, out var fault))
            {
                case CandumpLineKind.Frame when !end.IsTooLong: WriteFrame(time.ToString()); break;
                case CandumpLineKind.Frame: WriteMalformed(null, FaultWords.Of(CandumpFault.TooLong)); break;
                case CandumpLineKind.Rejected:
                    WriteMalformed(time == default ? null : time.ToString(), FaultWords.Of(end.IsTooLong ? CandumpFault.TooLong : fault));
                    break;
                case CandumpLineKind.Dropped:
                    _summary = _summary with { Dropped = _summary.Dropped + CandumpLine.DroppedFrames(line) };
                    break;
            }
        }

        private void TakeSerialCan(ReadOnlySpan<byte> line, LineEnd end)
        {
            switch (SerialCanLine.Read(line, end, isFdOn: true, ref _frame, out var fault))
            {
                case SerialCanLineKind.Frame:
                    WriteFrame(_frame.AdapterTimeMs is { } ms ? (ms / 1000m).ToString(CultureInfo.InvariantCulture) : null);
                    break;
                // A status line in the wrong form was never meant to be a frame.
                case SerialCanLineKind.Rejected when fault != SerialCanFault.BadStatus:
                    WriteMalformed(null, FaultWords.Of(fault));
                    break;
            }
        }

        private void WriteFrame(string? time)
        {
            _summary = _summary with { Frames = _summary.Frames + 1 };
            var idText = CanFrame.FormatId(_frame.Id, _frame.IsExtended || _frame.IsError);
            var message = _frame.IsError ? null : _database.Find(_frame.Id, _frame.IsExtended);
            Begin(time, idText, message?.Name);
            string? error = null;
            if (_frame.IsError) error = $"error frame: {SocketCanFrame.ErrorWords(_frame.Id)}";
            else if (message is null) error = "unknown identifier";
            else if (_frame.IsRemote) error = "remote frame: it carries no data";
            else error = WriteSignals(message);
            if (message is null) _summary = _summary with { UnknownIds = _summary.UnknownIds + 1 };
            else if (error is not null) _summary = _summary with { Undecoded = _summary.Undecoded + 1 };
            End(error);
        }

        private string? WriteSignals(CanMessage message)
        {
            var outcome = message.Decode(_frame.Data, _values);
            foreach (var signal in message.Signals)
                if (_values[signal.Index].IsPresent) WriteValue(signal, _values[signal.Index]);
            return outcome switch
            {
                DecodeOutcome.TooShort => string.Create(CultureInfo.InvariantCulture, $"{_frame.Length} bytes of data; {message.Name} needs {message.Length}"),
                DecodeOutcome.UnknownPage => $"unknown multiplex page of {message.Name}",
                _ => null,
            };
        }

        private void WriteValue(CanSignal signal, SignalValue value)
        {
            _json.WritePropertyName(signal.Name);
            if (ExactInteger(signal, value) is { } whole && BigInteger.Abs(whole) > ExactLimit)
                _json.WriteStringValue(whole.ToString(CultureInfo.InvariantCulture));
            else if (double.IsFinite(value.Physical)) _json.WriteNumberValue(value.Physical);
            else _json.WriteStringValue(double.IsNaN(value.Physical) ? "nan" : value.Physical > 0 ? "inf" : "-inf");
        }

        /// <summary>The physical value without going through a double, where the signal is an integer with whole factor and offset and large.</summary>
        private static BigInteger? ExactInteger(CanSignal signal, SignalValue value)
        {
            if (signal.Number is SignalNumber.Single or SignalNumber.Double || Math.Abs(value.Physical) < 9e15) return null;
            if (!double.IsInteger(signal.Scale) || !double.IsInteger(signal.Offset)) return null;
            BigInteger raw = signal.Number == SignalNumber.Signed ? signal.SignExtend(value.Bits) : value.Bits;
            return raw * new BigInteger(signal.Scale) + new BigInteger(signal.Offset);
        }

        private void WriteMalformed(string? time, string error)
        {
            _summary = _summary with { Malformed = _summary.Malformed + 1 };
            Begin(time, null, null);
            End(error);
        }

        private void Begin(string? time, string? id, string? message)
        {
            _text.ResetWrittenCount();
            _json.Reset();
            _json.WriteStartObject();
            _json.WritePropertyName("time");
            if (time is null) _json.WriteNullValue();
            else _json.WriteRawValue(time);
            _json.WriteString("id", id);
            _json.WriteString("message", message);
            _json.WriteStartObject("signals");
        }

        private void End(string? error)
        {
            _json.WriteEndObject();
            if (error is not null) _json.WriteString("error", error);
            _json.WriteEndObject();
            _json.Flush();
            _output.Write(Encoding.UTF8.GetString(_text.WrittenSpan));
            _output.Write('\n');
        }
    }
}
