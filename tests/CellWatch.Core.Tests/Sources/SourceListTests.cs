using CellWatch.Core.Estimation.Ocv;
using CellWatch.Core.Sources;
using Xunit;

namespace CellWatch.Core.Tests.Sources;

public class SourceListTests
{
    [Fact]
    public void Every_method_has_a_use_a_source_and_a_check_and_a_name_of_its_own()
    {
        Assert.All(SourceList.All, s => Assert.All(new[] { s.Name, s.UsedFor, s.Source, s.CheckedAgainst }, t => Assert.False(string.IsNullOrWhiteSpace(t))));
        Assert.Equal(SourceList.All.Count, SourceList.All.Select(s => s.Name).Distinct(StringComparer.Ordinal).Count());
    }

    [Fact]
    public void Every_curve_is_listed_and_the_text_prints_them_all()
    {
        foreach (var curve in OcvCurves.All) Assert.Contains(curve.Source, SourceList.Render(), StringComparison.Ordinal);
        foreach (var s in SourceList.All) Assert.Contains(s.Name, SourceList.Render(), StringComparison.Ordinal);
    }

    /// <summary>The contributor guide lists the same methods.</summary>
    [Fact]
    public void The_guide_names_every_method()
    {
        var folder = new DirectoryInfo(AppContext.BaseDirectory);
        while (folder is not null && !File.Exists(Path.Combine(folder.FullName, "CellWatch.sln"))) folder = folder.Parent;
        var guide = File.ReadAllText(Path.Combine(folder!.FullName, "DEVELOPERS.md"));
        Assert.All(SourceList.All, s => Assert.Contains(s.Name, guide, StringComparison.Ordinal));
    }

    /// <summary>Which entry of the list stands behind each type that works something out. A new type without an entry fails the test below.</summary>
    private static readonly Dictionary<string, string> EntryOf = new Dictionary<string, string>
    {
        ["Robust"] = "Median, MAD, modified z-score",
        ["Hampel"] = "Hampel filter",
        ["Grubbs"] = "Grubbs' test with Student's t",
        ["StudentT"] = "Grubbs' test with Student's t",
        ["RunningLine"] = "Straight-line regression",
        ["LineFit"] = "Straight-line regression",
        ["RunningMoments"] = "Running mean and deviation",
        ["LeastSquares"] = "Small dense least squares",
        ["Quantiles"] = "Quantiles",

        ["OcvCurve"] = "\"Cannot tell here\"",
        ["OcvLearning"] = "Curve learned from own rests",
        ["EquivalentCircuit"] = "Equivalent circuit, exact update",
        ["SocBank"] = "Extended Kalman filter of charge",
        ["SocFilterStep"] = "Extended Kalman filter of charge",
        ["CurveFitBank"] = "Curve does not fit this cell",
        ["RestReset"] = "Reset at rest",
        ["RestBank"] = "Reset at rest",
        ["ChargeCounter"] = "Coulomb counting",
        ["StepResistanceBank"] = "Resistance from steps of current",
        ["PulseResistance"] = "Pulse power",
        ["CapacityFit"] = "Capacity by total least squares",
        ["RecursiveCapacity"] = "Capacity by total least squares",
        ["FourSignatures"] = "Four signatures",
        ["SelfDischargeBank"] = "Self-discharge against siblings",
        ["Balancing"] = "Balancing arithmetic",
        ["Taper"] = "Taper fit",
        ["AllowedCurrent"] = "Allowed charge current",
        ["ChargeTemperatureProfile"] = "Charge against temperature",
        ["Thermistor"] = "Thermistors and platinum sensors",
        ["SteinhartHart"] = "Thermistors and platinum sensors",
        ["ThermistorDivider"] = "Thermistors and platinum sensors",
        ["PlatinumSensor"] = "Thermistors and platinum sensors",
        ["ThermalModel"] = "Heat of a cell",
        ["PackArithmetic"] = "Pack arithmetic",
        ["IsolationTest"] = "Isolation by a known resistor",
        ["Precharge"] = "Pre-charge",

        ["RangeCheck"] = "Range and impossible step",
        ["StepCheck"] = "Range and impossible step",
        ["StuckCheck"] = "Stuck channel, repeated frame, copy of a neighbour",
        ["StillnessCheck"] = "Stuck channel, repeated frame, copy of a neighbour",
        ["CopyCheck"] = "Stuck channel, repeated frame, copy of a neighbour",
        ["MirrorCheck"] = "Mirror of neighbours",
        ["DirectionCheck"] = "Current sensor counts the wrong way",
        ["ExchangeCheck"] = "Exchanged harnesses",
        ["NoiseCheck"] = "Noise of a channel",

        ["CauseFinder"] = "Cause of a deviation",
        ["CauseReader"] = "Cause of a deviation",
        ["DeviationSums"] = "Four signatures",
        ["ExcessHistory"] = "Joint or cell",
        ["LinkLedger"] = "Link ledger",
        ["BalancePlanner"] = "Plan of a night of bleeding",
        ["BleedTimeOuts"] = "Plan of a night of bleeding",
        ["BleedCount"] = "Balancing arithmetic",

        ["LimitForecast"] = "Who will limit and when",
        ["PaceLine"] = "Who will limit and when",
        ["ChargeAllowed"] = "Allowed charge current",
        ["CurrentAtTarget"] = "Missing taper",
        ["TaperFollower"] = "Taper fit",
        ["HeatBalance"] = "Heat the current cannot explain",
        ["SteadyTop"] = "Noise left out of the highest cell",
        ["Permit"] = "Permit",

        ["PulseFinder"] = "Resistance from steps of current",
        ["TaperFinder"] = "Taper fit",
        ["RemainingCharge"] = "Remaining charge from the tail",
        ["RunFinder"] = "Coulomb counting",
        ["RestReader"] = "Relaxation is not a leak",
        ["StringCells"] = "Remaining charge from the tail",
        ["PulseCapacity"] = "Capacity from pulses",
        ["SenseCheck"] = "Sense connection check",

        ["NightReview"] = "Review of a night",
        ["NightReader"] = "Review of a night",
        ["NightLog"] = "Review of a night",
        ["RestTest"] = "Rest test",
        ["RestBins"] = "Rest test",
        ["CapacityTest"] = "Capacity test",
        ["PulseTest"] = "Pulse test",
        ["PulseWindow"] = "Pulse test",
        ["RunCourse"] = "Forecast of a discharge",
        ["Grading"] = "Grades",
        ["GradeLines"] = "Grades",
        ["LimitingModule"] = "Which module limits the pack",
        ["SeededDraws"] = "Which module limits the pack",
        ["Inspection"] = "Incoming inspection",
        ["HandEntry"] = "Readings by hand",
        ["ChargeLadder"] = "First-charge ladder",
        ["ChargeReader"] = "Charge record from the log",
        ["ChargeCourse"] = "Charge record from the log",
        ["ChargeAccount"] = "Charge record from the log",
        ["HealthCheck"] = "Health check",
        ["FaultTriage"] = "Fault triage",
        ["RunRecogniser"] = "Stretches of the record",
        ["RunTrack"] = "Stretches of the record",

        ["FittingSolver"] = "Fitting plan",
        ["Assignment"] = "Fitting plan",
        ["PlanScoring"] = "Fitting plan",
        ["PlanCosts"] = "Fitting plan",
        ["PlanBox"] = "Fitting plan",
        ["JointSheet"] = "Joint sheet",
        ["PriceOfTheWeakest"] = "Price of the weakest",

        ["RhythmProof"] = "Channel proof by a rhythm",
        ["ConnectorOpening"] = "Gates and proofs",
        ["RhythmRecorder"] = "Channel proof by a rhythm",
        ["MonotonicStack"] = "Order of the sense leads",
        ["SumAgainstTerminal"] = "Sum of cells against the terminals",
        ["CurrentSensorProof"] = "Current sensor proof",
        ["WarmHand"] = "Warm hand",
        ["LiveStretch"] = "Proofs read live",
        ["PrechargeJudgement"] = "Pre-charge against a good curve",
        ["IsolationJudgement"] = "Isolation judged and located",
        ["GateBook"] = "Gates and proofs",
        ["GateTable"] = "Gates and proofs",
        ["ProofRegister"] = "Gates and proofs",
        ["CheckCharacter"] = "Check character",
        ["LookAlike"] = "Names that look alike",
        ["PictureFile"] = "Whether a picture came whole",
    };

    /// <summary>Types that only hold, order or word what others worked out.</summary>
    private static readonly HashSet<string> WithoutMethod =
    [
        "OcvCurves", "ChannelChecks", "Doubts", "ChargeSupervisor", "ChargeViewMaker", "ChargeAdvice", "Assessment", "AssessText", "MeasuredRecord", "MeasuredRun", "RunRows", "BenchWording",
        "ModuleRegister", "RevisionRule", "MemoryRecordStore", "RecordJson", "Shelf`1", "RefusedException",
    ];

    [Fact]
    public void Every_type_that_works_something_out_has_an_entry()
    {
        string[] parts = ["Statistics", "Estimation", "Checks", "Imbalance", "Charging", "Assess", "Bench", "Planning", "Proofs", "Register", "History.Runs"];
        var spaces = parts.Select(p => $"CellWatch.Core.{p}").ToHashSet(StringComparer.Ordinal);
        var types = typeof(SourceList).Assembly.GetTypes()
            .Where(t => spaces.Contains(t.Namespace ?? "") && !t.IsNested && !t.IsEnum && !t.IsInterface && t.GetMethod("PrintMembers", Everything) is null && !t.Name.StartsWith('<'))
            .Select(t => t.Name).ToList();
        Assert.True(types.Count > 80, $"only {types.Count} types were found");
        Assert.Empty(types.Where(t => !EntryOf.ContainsKey(t) && !WithoutMethod.Contains(t)));
        var names = SourceList.All.Select(s => s.Name).ToHashSet(StringComparer.Ordinal);
        Assert.Empty(EntryOf.Values.Where(n => !names.Contains(n)));
    }

    private const System.Reflection.BindingFlags Everything = System.Reflection.BindingFlags.Instance | System.Reflection.BindingFlags.Public | System.Reflection.BindingFlags.NonPublic;
}
