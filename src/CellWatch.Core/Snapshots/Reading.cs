namespace CellWatch.Core.Snapshots;

/// <summary>What the wire itself says of a value.</summary>
public enum ReadingMark : byte
{
    /// <summary>An ordinary value.</summary>
    Good,

    /// <summary>Outside the range the signal's own description gives; the value is passed on unclipped.</summary>
    OutOfRange,

    /// <summary>The front end reports an open lead or sensor.</summary>
    Open,

    /// <summary>The front end sent a reset or busy code, or nothing, for this channel: there is no value.</summary>
    NoData,
}

/// <summary>One decoded quantity on its way from a front end to the assembler.</summary>
/// <param name="Channel">Flat channel number of <see cref="ChannelMap"/>.</param>
/// <param name="Value">In the channel's unit; not read where <paramref name="Mark"/> is <see cref="ReadingMark.NoData"/>.</param>
/// <param name="Mark">What the wire says of it.</param>
public readonly record struct Reading(int Channel, double Value, ReadingMark Mark = ReadingMark.Good);
