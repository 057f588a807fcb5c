namespace CellWatch.Simulation.Stories;

/// <summary>
/// Current of a harbour launch at work: slow ahead, half, full, stopped, in steps of forty seconds with ramps of two, and a slow swell on
/// top. Invented; its mean is 24.4 A out, so that one hour takes about 24 Ah.
/// </summary>
public static class DriveProfile
{
    private const double StepS = 40;
    private const double RampS = 2;
    private const double SwellS = 7.3;
    private static readonly double[] LevelA = [-8, -22, -35, -22, 0, -45, -60, -30, -22, 0, -15, -35, -22];

    /// <summary>Current, A, negative: discharging.</summary>
    /// <param name="elapsedS">Since the beginning, s.</param>
    public static double CurrentA(double elapsedS)
    {
        var step = (long)(elapsedS / StepS);
        var before = step == 0 ? 0 : LevelA[(step - 1) % LevelA.Length];
        var now = LevelA[step % LevelA.Length];
        var ramp = Math.Min(1, (elapsedS - step * StepS) / RampS);
        var level = before + (now - before) * ramp;
        return level * (1 + 0.03 * Math.Sin(2 * Math.PI * elapsedS / SwellS));
    }
}
