using System.Buffers;

namespace CellWatch.FrontEnds;

/// <summary>How a line ended.</summary>
/// <param name="Terminator">The byte that ended it.</param>
/// <param name="IsTooLong">It was longer than allowed; only its beginning is given.</param>
public readonly record struct LineEnd(byte Terminator, bool IsTooLong);

/// <summary>
/// Cuts a stream of bytes into lines. Bytes arrive in pieces of any size; a half line is kept for the next piece, a line beyond the
/// limit is dropped up to its terminator and reported once. No allocation after construction. Not thread-safe.
/// </summary>
public sealed class LineSplitter
{
    private readonly SearchValues<byte> _terminators;
    private readonly byte[] _held;
    private int _heldLength;
    private bool _isOverflowing;

    /// <param name="longestLine">Most bytes of a line without its terminator.</param>
    /// <param name="terminators">Bytes that end a line.</param>
    public LineSplitter(int longestLine, ReadOnlySpan<byte> terminators)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(longestLine, 1);
        _held = new byte[longestLine];
        _terminators = SearchValues.Create(terminators);
    }

    /// <summary>The unfinished line that waits for its terminator.</summary>
    public ReadOnlySpan<byte> Pending => _held.AsSpan(0, _heldLength);

    /// <summary>Whether an unfinished line waits, kept or being dropped.</summary>
    public bool HasPending => _heldLength > 0 || _isOverflowing;

    /// <summary>Forgets the unfinished line: the link was lost.</summary>
    public void Reset()
    {
        _heldLength = 0;
        _isOverflowing = false;
    }

    /// <summary>Takes the next whole line.</summary>
    /// <param name="input">Bytes not looked at yet; moved past what was taken.</param>
    /// <param name="line">The line without its terminator; valid until the next call or until the input is reused.</param>
    /// <param name="end">How it ended.</param>
    /// <returns>False when the input holds no further terminator; what was left is kept.</returns>
    public bool TryTake(ref ReadOnlySpan<byte> input, out ReadOnlySpan<byte> line, out LineEnd end)
    {
        var length = input.IndexOfAny(_terminators);
        if (length < 0)
        {
            Hold(input);
            input = default;
            line = default;
            end = default;
            return false;
        }

        var piece = input[..length];
        var terminator = input[length];
        input = input[(length + 1)..];
        if (!HasPending)
        {
            var isTooLong = piece.Length > _held.Length;
            line = isTooLong ? piece[.._held.Length] : piece;
            end = new LineEnd(terminator, isTooLong);
            return true;
        }

        Hold(piece);
        line = _held.AsSpan(0, _heldLength);
        end = new LineEnd(terminator, _isOverflowing);
        Reset();
        return true;
    }

    private void Hold(ReadOnlySpan<byte> piece)
    {
        var room = _held.Length - _heldLength;
        if (piece.Length > room)
        {
            piece = piece[..room];
            _isOverflowing = true;
        }

        piece.CopyTo(_held.AsSpan(_heldLength));
        _heldLength += piece.Length;
    }
}
