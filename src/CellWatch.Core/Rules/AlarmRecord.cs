using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Rules;

/// <summary>What is remembered of one alarm beyond its state; made when it is first raised.</summary>
internal sealed class AlarmRecord
{
    public AlarmPriority Priority;
    public double? Value;
    public string Message = "";
    public long SinceUnixMs;
    public long SinceElapsedUs;
    public long? SeenUnixMs;
    public string SeenBy = "";
    public long ShelvedUntilUs;
    public long ShelvedUntilUnixMs;
    public string Reason = "";
    public int Count;

    public void Raise(SnapshotTime time, double value)
    {
        Count++;
        SinceUnixMs = time.WallUnixMs;
        SinceElapsedUs = time.ElapsedUs;
        Value = double.IsFinite(value) ? value : null;
    }

    public void ForgetPeople() => (SeenUnixMs, SeenBy, Reason) = (null, "", "");
}
