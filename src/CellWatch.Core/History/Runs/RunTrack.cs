using CellWatch.Core.Snapshots;

namespace CellWatch.Core.History.Runs;

/// <summary>One kind of run while it shows, open or not: since when, until when, and what it amounts to.</summary>
internal sealed class RunTrack(RunKind kind)
{
    private double _inAs, _outAs, _gapS;
    private int _gaps;

    public RunKind Kind { get; } = kind;

    public bool Shows { get; private set; }

    public SnapshotTime From { get; private set; }

    /// <summary>The last instant at which the pack did it.</summary>
    public SnapshotTime Last { get; private set; }

    /// <summary>What it amounted to at that instant.</summary>
    public RunFigures AtLast { get; private set; }

    public void Clear() => Shows = false;

    /// <summary>Begins later than it showed: what was before belongs to the run before.</summary>
    public void BeginAt(SnapshotTime from)
    {
        if (from.ElapsedUs > From.ElapsedUs) From = from;
    }

    /// <summary>Counts a stretch between two known currents.</summary>
    public void Count(double inAs, double outAs)
    {
        _inAs += inAs;
        _outAs += outAs;
    }

    public void CountGap(double gapS)
    {
        _gaps++;
        _gapS += gapS;
    }

    /// <summary>The pack does it now.</summary>
    public void See(SnapshotTime now)
    {
        if (!Shows)
        {
            (Shows, From) = (true, now);
            (_inAs, _outAs, _gapS, _gaps) = (0, 0, 0, 0);
        }

        Last = now;
        AtLast = new RunFigures(_inAs / 3600, _outAs / 3600, _gaps, _gapS);
    }
}
