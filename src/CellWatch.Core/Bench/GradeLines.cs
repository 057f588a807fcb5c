using CellWatch.Core.Statistics;

namespace CellWatch.Core.Bench;

/// <summary>Judges each criterion of a grade card.</summary>
internal static class GradeLines
{
    public static GradeLine Missing(string criterion) => new(criterion, "-", "-", "-", "", Verdict.Undecided, T("not tested"), null);

    public static GradeLine Rest(ModuleEvidence m, GradeLimits limits)
    {
        if (m.Rest is not { } rest) return Missing(T("rest test"));
        var value = rest.LeakMilliampere > rest.SmallestFoundMilliampere ? $"{rest.LeakMilliampere:0.0}+-{rest.HalfWidthMilliampere:0.0} mA" : $"<{rest.SmallestFoundMilliampere:0.0} mA";
        var remark = T($"group {rest.WorstCell}; could have found {rest.SmallestFoundMilliampere:0.0} mA");
        var reject = rest.LeakMilliampere > limits.LeakRejectMilliampere || rest.Steepens;
        var limited = rest.LeakMilliampere > limits.LeakAcceptMilliampere && rest.LeakMilliampere > rest.SmallestFoundMilliampere;
        var verdict = rest.Undecided || rest.SmallestFoundMilliampere > limits.LeakRejectMilliampere ? Verdict.Undecided
            : reject ? Verdict.Reject : limited ? Verdict.AcceptWithLimits : Verdict.Accept;
        var setting = reject ? nameof(limits.LeakRejectMilliampere) : nameof(limits.LeakAcceptMilliampere);
        var limit = reject ? limits.LeakRejectMilliampere : limits.LeakAcceptMilliampere;
        return new GradeLine(T("rest test"), value, "-", $"<={limit:0.#} mA", Camel(setting), verdict, remark, rest.Link);
    }

    public static GradeLine Capacity(ModuleEvidence m, Siblings siblings, GradeLimits limits)
    {
        if (m.Capacity is not { GroupAh.Count: > 0 } test) return Missing("capacity");
        var cell = Enumerable.Range(0, test.GroupAh.Count).MinBy(i => test.GroupAh[i].Value);
        var worst = test.GroupAh[cell];
        var health = 100 * worst.Value / limits.RatedGroupAh;
        var score = Robust.ModifiedZ(worst.Value, siblings.WorstGroupAh, siblings.MadAh, limits.CapacityResolutionAh);
        var belowPercent = 100 * (1 - worst.Value / siblings.WorstGroupAh);
        double acceptAh = limits.HealthAcceptPercent / 100 * limits.RatedGroupAh, rejectAh = limits.HealthRejectPercent / 100 * limits.RatedGroupAh;
        var remark = T($"group {cell + 1}, {health:0} % of {limits.RatedGroupAh:0} Ah");

        GradeLine Line(Verdict verdict, string limit, string setting, string more) => new(
            "capacity", $"{worst.Value:0.0}+-{worst.Sigma:0.0} Ah", $"{siblings.WorstGroupAh:0.0}", limit, Camel(setting), verdict, more.Length == 0 ? remark : $"{remark}; {more}", test.Link);

        if (!test.IsFit) return Line(Verdict.Undecided, "-", "", T("the run is not fit to be used: repeat it"));
        if (Math.Abs(test.TemperatureDegC - siblings.CapacityDegC) > limits.CompareWithinK)
            return Line(Verdict.Undecided, T($"within {limits.CompareWithinK:0} K"), nameof(limits.CompareWithinK), T($"taken at {test.TemperatureDegC:0} degC, siblings at {siblings.CapacityDegC:0}: not comparable, repeat it"));
        if (health < limits.HealthRejectPercent) return Line(Verdict.Reject, $">={rejectAh:0.#} Ah", nameof(limits.HealthRejectPercent), "");
        if (health < limits.HealthAcceptPercent) return Line(Verdict.AcceptWithLimits, $">={acceptAh:0.#} Ah", nameof(limits.HealthAcceptPercent), "");
        return score < -limits.SiblingScore
            ? Line(Verdict.AcceptWithLimits, T($"score >=-{limits.SiblingScore:0.0}"), nameof(limits.SiblingScore), T($"{belowPercent:0} % below siblings (score {score:0.0})"))
            : Line(Verdict.Accept, $">={acceptAh:0.#} Ah", nameof(limits.HealthAcceptPercent), "");
    }

    public static GradeLine Resistance(ModuleEvidence m, Siblings siblings, GradeLimits limits)
    {
        if (m.Resistance is not { TenSecondMilliohm.Count: > 0 } test) return Missing("resistance");
        var cell = Enumerable.Range(0, test.TenSecondMilliohm.Count).MaxBy(i => test.TenSecondMilliohm[i]);
        var worst = test.TenSecondMilliohm[cell];
        var ratio = worst / siblings.TenSecondMilliohm;
        var within = ratio <= limits.ResistanceAcceptRatio;
        var setting = within || ratio <= limits.ResistanceLimitRatio ? nameof(limits.ResistanceAcceptRatio) : nameof(limits.ResistanceLimitRatio);
        var allowed = (setting == nameof(limits.ResistanceAcceptRatio) ? limits.ResistanceAcceptRatio : limits.ResistanceLimitRatio) * siblings.TenSecondMilliohm;
        var remark = T($"group {cell + 1}, {ratio:0.00} x siblings, 10 s at {test.ChargePercent:0} % and {test.TemperatureDegC:0} degC");
        var verdict = within ? Verdict.Accept : ratio <= limits.ResistanceLimitRatio ? Verdict.AcceptWithLimits : Verdict.LowPowerOnly;
        if (Math.Abs(test.TemperatureDegC - siblings.ResistanceDegC) > limits.CompareWithinK)
            (verdict, remark) = (Verdict.Undecided, T($"taken at {test.TemperatureDegC:0} degC, siblings at {siblings.ResistanceDegC:0}: not comparable, repeat it"));
        else if (!within) (verdict, remark) = WithCause(m, test, cell, siblings, verdict, remark);
        return new GradeLine("resistance", $"{worst:0.00} mOhm", $"{siblings.TenSecondMilliohm:0.00}", $"<={allowed:0.00} mOhm", Camel(setting), verdict, remark, test.Link);
    }

    public static GradeLine Isolation(ModuleEvidence m, GradeLimits limits)
    {
        if (m.Isolation is not { } test) return Missing("isolation");
        var reject = test.Megohm < limits.IsolationRejectMegohm;
        var verdict = reject ? Verdict.Reject : test.Megohm < limits.IsolationAcceptMegohm ? Verdict.AcceptWithLimits : Verdict.Accept;
        return new GradeLine(
            "isolation", $"{test.Megohm:0.##} MOhm", "-", $">={(reject ? limits.IsolationRejectMegohm : limits.IsolationAcceptMegohm):0.##} MOhm",
            Camel(reject ? nameof(limits.IsolationRejectMegohm) : nameof(limits.IsolationAcceptMegohm)), verdict, T("terminal to case"), test.Link);
    }

    private static (Verdict, string) WithCause(ModuleEvidence m, ResistanceEvidence test, int cell, Siblings siblings, Verdict verdict, string remark)
    {
        if (cell >= test.OhmicMilliohm.Count) return (verdict, remark);
        var ohmicRatio = test.OhmicMilliohm[cell] / siblings.OhmicMilliohm;
        var slowRatio = (test.TenSecondMilliohm[cell] - test.OhmicMilliohm[cell]) / (siblings.TenSecondMilliohm - siblings.OhmicMilliohm);
        var capacityRatio = m.Capacity is { } c && cell < c.GroupAh.Count ? c.GroupAh[cell].Value / siblings.WorstGroupAh : 1;
        var cause = PulseTest.Cause(ohmicRatio, slowRatio, capacityRatio);
        return (cause == PulseTest.LostParallelCell ? Verdict.Reject : verdict, $"{remark}; {cause}");
    }

    private static string Camel(string name) => name.Length == 0 ? "" : char.ToLowerInvariant(name[0]) + name[1..];
}
