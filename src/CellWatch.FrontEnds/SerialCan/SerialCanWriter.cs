namespace CellWatch.FrontEnds.SerialCan;

/// <summary>Writes frames as serial-line CAN lines; used by emulated boards and tests.</summary>
public static class SerialCanWriter
{
    /// <summary>Room any line needs, its CR included.</summary>
    public const int MaxLength = 1 + 8 + 1 + 2 * CanFrame.MaxLength + 4 + 1;

    /// <summary>Writes one frame with its CR. No allocation.</summary>
    /// <param name="frame">The frame; a CAN FD length must be one of <see cref="CanFrame.FdLengths"/>.</param>
    /// <param name="line">Receives it; at least <see cref="MaxLength"/> bytes.</param>
    /// <returns>Bytes written.</returns>
    public static int Write(in CanFrame frame, Span<byte> line)
    {
        line[0] = Letter(frame);
        var at = 1;
        var idDigits = frame.IsExtended ? 8 : 3;
        Hex.Write(frame.Id, idDigits, line[at..]);
        at += idDigits;
        var code = frame.IsFd ? CanFrame.FdLengths.IndexOf(frame.Length) : frame.Length;
        if (code < 0 || !frame.IsFd && code > 8) throw new ArgumentOutOfRangeException(nameof(frame), frame.Length, "No frame has this length.");
        Hex.Write((uint)code, 1, line[at..]);
        at++;
        foreach (var value in frame.Data)
        {
            Hex.Write(value, 2, line[at..]);
            at += 2;
        }

        if (frame.AdapterTimeMs is { } stampMs)
        {
            Hex.Write((uint)stampMs, 4, line[at..]);
            at += 4;
        }

        line[at++] = SerialCanLine.CarriageReturn;
        return at;
    }

    private static byte Letter(in CanFrame frame) => (byte)((frame.IsFd, (frame.Flags & CanFrameFlags.BitRateSwitch) == CanFrameFlags.BitRateSwitch, frame.IsRemote, frame.IsExtended) switch
    {
        (true, true, _, true) => 'B',
        (true, true, _, false) => 'b',
        (true, false, _, true) => 'D',
        (true, false, _, false) => 'd',
        (false, _, true, true) => 'R',
        (false, _, true, false) => 'r',
        (false, _, false, true) => 'T',
        _ => 't',
    });
}
