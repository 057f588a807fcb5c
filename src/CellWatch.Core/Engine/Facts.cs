using CellWatch.Core.Checks;
using CellWatch.Core.Live;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Engine;

/// <summary>
/// What one step found out about the pack as a whole: written stage by stage, read by rules, wording and publishing; reused for ever.
/// Values that are not known are NaN here and are guarded by a flag or an index of -1; they leave the engine as null.
/// </summary>
internal sealed class Facts
{
    public Facts(ChannelMap map, CellType? cellType, EngineOptions options)
    {
        Map = map;
        CellType = cellType;
        Options = options;
        Instruments = InstrumentList.From(map, options);
        Doubts = new Doubts(map.CellCount);
        ChargeDifference = new double[map.CellCount];
        ChargeDifference.AsSpan().Fill(double.NaN);
        ExchangedWith = new int[map.Layout.Modules.Length];
        ExchangedWith.AsSpan().Fill(-1);
    }

    public ChannelMap Map { get; }
    public PackLayout Layout => Map.Layout;
    public CellType? CellType { get; }
    public CellLimits? Limits => CellType?.Limits;
    public EngineOptions Options { get; }
    public InstrumentList Instruments { get; }

    /// <summary>Why cells are not believed in this scan.</summary>
    public Doubts Doubts { get; }

    /// <summary>By module: the module it exchanged its readings with; -1 for none.</summary>
    public int[] ExchangedWith { get; }

    /// <summary>Snapshots stepped over.</summary>
    public long Steps;
    public SnapshotTime Time;
    public long FirstElapsedUs;

    /// <summary>Seconds since the snapshot before; 0 for the first.</summary>
    public double DtS;

    public bool CurrentKnown;
    public double CurrentA = double.NaN;
    public double CurrentUnknownS;

    /// <summary>The sensor's sign is in doubt: what the pack does is not read from it until that is settled.</summary>
    public bool CurrentInDoubt;
    public bool StringKnown;
    public double StringV = double.NaN;

    public PackMode Mode;
    public long ModeSinceUs;

    public double ModeForS => (Time.ElapsedUs - ModeSinceUs) * 1e-6;

    /// <summary>Charging, or the current is lost and it was charging when last known: unknown counts as unsafe.</summary>
    public bool MayBeCharging;

    public int KnownCells;
    public int ProvenCells;
    public int BleedingCells;
    public double MedianV = double.NaN;
    public int HighestCell = -1;
    public double HighestV = double.NaN;
    public int LowestCell = -1;
    public double LowestV = double.NaN;

    /// <summary>Highest known cell, those under bleed included: a charge is judged by it.</summary>
    public int TopCell = -1;
    public double TopV = double.NaN;

    /// <summary>The same without noise, while a charge runs; -1 and NaN while not known.</summary>
    public int SteadyTopCell = -1;
    public double SteadyTopV = double.NaN;

    /// <summary>Mean charge of the cells, %; NaN where it cannot be told.</summary>
    public double SocPercent = double.NaN;

    /// <summary>Sum of all cells, V; NaN unless every cell is known.</summary>
    public double SumV = double.NaN;
    public double OldestS;

    public int KnownTemperatures;
    public int HottestSensor = -1;
    public double HottestDegC = double.NaN;
    public int ColdestSensor = -1;
    public double ColdestDegC = double.NaN;

    /// <summary>Begins a step.</summary>
    public void Begin(Snapshot snapshot)
    {
        if (Steps == 0) (FirstElapsedUs, ModeSinceUs) = (snapshot.Time.ElapsedUs, snapshot.Time.ElapsedUs);
        DtS = Steps == 0 ? 0 : Math.Max(0, (snapshot.Time.ElapsedUs - Time.ElapsedUs) * 1e-6);
        Steps++;
        Time = snapshot.Time;
        Snapshot = snapshot;
    }

    /// <summary>Takes current and string voltage as the checks left them.</summary>
    public void TakeCurrent(Snapshot snapshot)
    {
        CurrentKnown = snapshot.TryGetPackCurrentA(out CurrentA);
        StringKnown = snapshot.TryGetStringVoltageV(out StringV);
    }

    public double SpreadV => HighestV - LowestV;
    public int UnseenCells => Map.CellCount - KnownCells;

    /// <summary>Difference of each cell's charge from the median cell, Ah; NaN where it cannot be told.</summary>
    public double[] ChargeDifference { get; }

    /// <summary>Difference of a cell's charge from the median cell, Ah; NaN where it cannot be told.</summary>
    public double ChargeDifferenceAh(int cell) => ChargeDifference[cell];

    /// <summary>The same where it may be said beside a deviation in volts: NaN where the two point apart, as under current. Then volts are said alone.</summary>
    public double ChargeBesideAh(int cell, double deviationV) => ChargeDifference[cell] * deviationV > 0 ? ChargeDifference[cell] : double.NaN;

    /// <summary>Why a cell's value is not believed, in words.</summary>
    public string ReasonOf(Snapshot snapshot, int cell) => Doubts.InWords(Layout, cell, snapshot.CellQuality[cell]);

    /// <summary>The scan of this step; a view of the reused buffer.</summary>
    public Snapshot? Snapshot;

    /// <summary>What to do when the current is too high, worded by who sets it.</summary>
    public string TurnDown => AllowedA is { } a && a < CurrentA ? Turn(a) : Turn(0.7 * CurrentA);

    /// <summary>Current at which no cell passes its target, A; null while not known.</summary>
    public double? AllowedA { get; set; }

    /// <summary>How to come down to a current, worded by who sets it.</summary>
    public string Turn(double toA) => Options.CurrentSetBy switch
    {
        CurrentSetBy.Person => double.IsFinite(toA) ? T($"Turn down to {Say.Amperes(toA)}.") : T("Turn the current down."),
        CurrentSetBy.ChargeController => double.IsFinite(toA) ? T($"Ask the charge controller for {Say.Amperes(toA)}.") : T("Ask the charge controller for less."),
        _ => T($"Nobody can turn this current down: be ready at {Options.HandCutOff}."),
    };

    /// <summary>Age of the freshest channel of an instrument that is not seen, s; since the start where there never was one.</summary>
    public double InstrumentAgeS(int instrument)
    {
        var age = long.MaxValue;
        if (Snapshot is { } snapshot)
            for (var channel = 0; channel < Map.FirstTemperature + Map.TemperatureCount; channel++)
                if (Instruments.OfChannel(channel) == instrument && IsUnseen(snapshot.Quality[channel])) age = Math.Min(age, snapshot.AgeUs[channel]);
        return (age == long.MaxValue ? Time.ElapsedUs - FirstElapsedUs : age) * 1e-6;
    }

    /// <summary>Cells and sensors of an instrument that are not seen.</summary>
    public (int Cells, int Sensors) UnseenOf(int instrument)
    {
        int cells = 0, sensors = 0;
        if (Snapshot is { } snapshot)
            for (var channel = 0; channel < Map.FirstTemperature + Map.TemperatureCount; channel++)
            {
                if (Instruments.OfChannel(channel) != instrument || !IsUnseen(snapshot.Quality[channel])) continue;
                if (channel < Map.CellCount) cells++;
                else sensors++;
            }

        return (cells, sensors);
    }

    private static bool IsUnseen(Quality quality) => quality is Quality.Missing or Quality.Stale;
}
