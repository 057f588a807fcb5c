using CellWatch.FrontEnds.Running;
using CellWatch.FrontEnds.SignalDatabase;

namespace CellWatch.FrontEnds.LinuxCan;

/// <summary>Turns the kernel's frame structures into readings.</summary>
internal sealed class SocketCanDecoder : IWireDecoder
{
    private const byte MalformedReason = 0;

    private readonly SignalFrameReader _frames;
    private readonly LinkJournal _journal;
    private readonly byte[] _held = new byte[SocketCanFrame.ClassicalSize];
    private int _heldLength;
    private CanFrame _frame;

    public SocketCanDecoder(SignalFrameReader frames, LinkJournal journal, bool hasIdentitySignal, bool saysOrigin)
    {
        _frames = frames;
        _journal = journal;
        CarriesIdentity = hasIdentitySignal;
        SaysOrigin = saysOrigin;
        journal.Use(this);
    }

    public const byte FirstFrameReason = MalformedReason + 1;

    public string Wire => "Linux CAN";

    public int ReasonCount => FirstFrameReason + SignalFrameReader.ReasonCount;

    public bool CarriesIdentity { get; }

    public bool SaysOrigin { get; }

    public string Words(byte reason) => reason == MalformedReason ? "malformed frame" : SignalFrameReader.Words((SignalFrameFault)(reason - FirstFrameReason));

    public void Reset()
    {
        _heldLength = 0;
        _frames.Reset();
    }

    public ValueTask StartAsync(Stream stream, CancellationToken cancellation) => ValueTask.CompletedTask;

    public ValueTask StopAsync(Stream stream, CancellationToken cancellation) => ValueTask.CompletedTask;

    public void Take(ReadOnlySpan<byte> bytes)
    {
        while (bytes.Length > 0)
        {
            var piece = Math.Min(_held.Length - _heldLength, bytes.Length);
            bytes[..piece].CopyTo(_held.AsSpan(_heldLength));
            bytes = bytes[piece..];
            _heldLength += piece;
            if (_heldLength < _held.Length) return;
            _heldLength = 0;
            TakeFrame();
        }
    }

    private void TakeFrame()
    {
        Span<byte> text = stackalloc byte[2 * SocketCanFrame.ClassicalSize];
        for (var i = 0; i < _held.Length; i++) Hex.Write(_held[i], 2, text[(2 * i)..]);
        _journal.Raw(text);
        if (SocketCanFrame.TryRead(_held, ref _frame)) _frames.Take(_frame, text);
        else _journal.Bad(text, MalformedReason);
    }
}
