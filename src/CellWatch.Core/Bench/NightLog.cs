using CellWatch.Core.Engine;
using CellWatch.Core.Imbalance;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Bench;

/// <summary>
/// Follows a night of bleeding from its plan to its record: what was planned, what the switches took out by count, where nothing is known. The
/// readings before and after are handed in, because they need the bleed off for half an hour. One thread at a time.
/// </summary>
/// <param name="map">The pack's channels.</param>
/// <param name="plan">What was planned.</param>
/// <param name="bleedOhm">Resistor of a switch, ohm.</param>
/// <param name="zone">Zone in which holes are written.</param>
public sealed class NightLog(ChannelMap map, BalancePlan plan, double bleedOhm, TimeZoneInfo zone)
{
    private readonly BleedCount _count = new(map, bleedOhm);
    private readonly List<string> _gaps = [];
    private SnapshotTime _began;
    private SnapshotTime _last;
    private double _hottestBoardDegC = double.NaN;
    private bool _hasBegun;

    /// <summary>Takes one scan of the night.</summary>
    /// <param name="snapshot">The scan.</param>
    /// <param name="hottestBoardDegC">Hottest bleed board, degC; NaN where none is measured.</param>
    public void Step(Snapshot snapshot, double hottestBoardDegC = double.NaN)
    {
        if (!_hasBegun) (_began, _hasBegun) = (snapshot.Time, true);
        else if ((snapshot.Time.ElapsedUs - _last.ElapsedUs) * 1e-6 > BleedCount.LongestStepS)
            _gaps.Add(T($"{Say.Clock(_last.WallUnixMs, zone)}-{Say.Clock(snapshot.Time.WallUnixMs, zone)}, no record"));
        _last = snapshot.Time;
        _count.Step(snapshot);
        if (!(hottestBoardDegC <= _hottestBoardDegC) && double.IsFinite(hottestBoardDegC)) _hottestBoardDegC = hottestBoardDegC;
    }

    /// <summary>
    /// Charge that may have been taken out of a cell so far, Ah, for <see cref="BleedSchedule"/>: a switch that was on unseen counts as if it had been on all
    /// the time, so that a hole is never a reason to bleed more.
    /// </summary>
    public double MostTakenAh(int cell) => _count.CountedAh(cell) + plan.BleedA(cell) * _count.UnseenS(cell) / 3600;

    /// <summary>The night's record.</summary>
    /// <param name="beforeAh">Deviation of each cell from the median before, Ah.</param>
    /// <param name="afterAh">After.</param>
    /// <param name="before">Conditions of the reading before.</param>
    /// <param name="after">Conditions of the reading after.</param>
    /// <param name="hoursBefore">Hours from the reading before the first night to the one before this night.</param>
    public NightRecord Close(double[] beforeAh, double[] afterAh, RestConditions before, RestConditions after, double hoursBefore)
    {
        var hours = _hasBegun ? (_last.ElapsedUs - _began.ElapsedUs) / 3.6e9 : 0;
        var planned = new double[map.CellCount];
        foreach (var row in plan.Cells) planned[row.Cell] = row.RemoveAh;
        return new NightRecord(
            hours, hoursBefore + hours, beforeAh, afterAh, planned, [.. Enumerable.Range(0, map.CellCount).Select(_count.IntegratedAh)], before, after, [.. _gaps], _hottestBoardDegC);
    }
}
