using System.Runtime.InteropServices;

namespace CellWatch.Host.Time;

/// <summary>
/// The host's clocks. <see cref="GetTimestamp"/> counts elapsed time including time asleep (CLOCK_BOOTTIME on Linux); elsewhere it
/// is the system's steady counter, which on Windows includes sleep too and on macOS does not. <see cref="RunningUs"/> leaves sleep
/// out where the system can tell, so the difference of the two shows that the machine slept.
/// </summary>
public sealed partial class HostTimeProvider : TimeProvider
{
    // Clock numbers of clock_gettime(2) on Linux.
    private const int ClockMonotonic = 1;
    private const int ClockBoottime = 7;

    private readonly bool _isLinux = OperatingSystem.IsLinux();

    /// <inheritdoc/>
    public override long TimestampFrequency => _isLinux ? 1_000_000_000 : base.TimestampFrequency;

    /// <inheritdoc/>
    public override long GetTimestamp() => _isLinux ? ReadNs(ClockBoottime) : base.GetTimestamp();

    /// <summary>Microseconds the machine has been running, without sleep where the system can tell.</summary>
    public long RunningUs => _isLinux ? ReadNs(ClockMonotonic) / 1000 : (long)(base.GetTimestamp() * (1e6 / base.TimestampFrequency));

    private static long ReadNs(int clock)
    {
        if (ClockGetTime(clock, out var time) != 0) throw new InvalidOperationException($"clock_gettime({clock}) failed.");
        return checked(time.Seconds * 1_000_000_000 + time.Nanoseconds);
    }

    [LibraryImport("libc", EntryPoint = "clock_gettime")]
    private static partial int ClockGetTime(int clock, out TimeSpec time);

    [StructLayout(LayoutKind.Sequential)]
    private struct TimeSpec
    {
        public nint Seconds;
        public nint Nanoseconds;
    }
}
