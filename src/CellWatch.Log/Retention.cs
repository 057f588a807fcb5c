using System.Globalization;

namespace CellWatch.Log;

/// <summary>
/// The rule by which old data are thinned. Stretches frozen around alarms and runs keep their full rate; alarms, events, commands, runs,
/// notes and attachments are never removed.
/// </summary>
public sealed record Retention
{
    /// <summary>Days at full rate; default 90. Older data keep least, greatest and mean of every 10 s.</summary>
    public double FullRateDays { get; init; } = 90;

    /// <summary>Days at 10 s; default 730. Older data keep least, greatest and mean of every minute, for ever.</summary>
    public double TenSecondDays { get; init; } = 730;

    /// <summary>Most bytes the log may take on disk; default 0, no limit but the disk's.</summary>
    public long MaxBytes { get; init; }

    /// <summary>Room on the disk that is left to others, bytes; default 256 MiB. Below it the oldest full-rate data are thinned early.</summary>
    public long LeaveFreeBytes { get; init; } = 256L << 20;

    /// <summary>Days at full rate that are not thinned even when room is short; default 2.</summary>
    public double FullRateAtLeastDays { get; init; } = 2;

    /// <summary>Days left at which the early warning begins; default 7.</summary>
    public double WarnDays { get; init; } = 7;

    /// <summary>The rule in a sentence.</summary>
    public string InWords => string.Create(
        CultureInfo.InvariantCulture,
        $"Full rate for {FullRateDays:0.#} days, then 10 s (least, greatest, mean) to {TenSecondDays:0.#} days, then 1 min for ever; 10 min around alarms stay at full rate. When room is short the oldest full rate beyond {FullRateAtLeastDays:0.#} days is thinned first.");
}
