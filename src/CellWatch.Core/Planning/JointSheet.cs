using CellWatch.Core.Statistics;

namespace CellWatch.Core.Planning;

/// <summary>One bolted joint as worked on. Null: not done yet.</summary>
/// <param name="Number">From 1, in the order they are made.</param>
/// <param name="Where">For example <c>B07+ to B08-</c>.</param>
/// <param name="Fastener">Size, for example <c>M8</c>; joints of one size are like joints.</param>
/// <param name="TorqueNm">From the fastener's or terminal's maker.</param>
/// <param name="Cleaned">Both faces cleaned.</param>
/// <param name="Torqued">Torque reached.</param>
/// <param name="Marked">Witness mark set.</param>
/// <param name="MicroOhm">Four-wire reading.</param>
/// <param name="RiseK">Above its like joints in the thermal picture under first load.</param>
/// <param name="LinkSerial">Serial of the link.</param>
public sealed record Joint(
    int Number, string Where, string Fastener, double TorqueNm, bool? Cleaned, bool? Torqued, bool? Marked, double? MicroOhm, double? RiseK, string LinkSerial);

/// <summary>What a joint still needs.</summary>
/// <param name="Number">The joint.</param>
/// <param name="Done">Nothing left.</param>
/// <param name="Redo">Its resistance stands out: open, clean, make again.</param>
/// <param name="Sentence">In words.</param>
public sealed record JointState(int Number, bool Done, bool Redo, string Sentence);

/// <summary>
/// The joint sheet. A joint more than 50 % above the lowest like it is redone. Source: acceptance practice of electrical testing (secondary
/// reading of ANSI/NETA), 5 to 15 micro-ohm typical for a bolted copper joint.
/// </summary>
public static class JointSheet
{
    /// <summary>A joint above this times the lowest like joint is redone.</summary>
    public const double RedoAbove = 1.5;

    /// <summary>A joint warmer than its like by this under first load is looked at again, K (own rule).</summary>
    public const double WarmAboveK = 5;

    /// <summary>Judges all joints.</summary>
    public static IReadOnlyList<JointState> Judge(IReadOnlyList<Joint> joints)
    {
        var lowest = joints.Where(j => j.MicroOhm > 0).GroupBy(j => j.Fastener, StringComparer.OrdinalIgnoreCase).ToDictionary(g => g.Key, g => g.Min(j => j.MicroOhm!.Value), StringComparer.OrdinalIgnoreCase);
        return [.. joints.Select(j => State(j, lowest.GetValueOrDefault(j.Fastener)))];
    }

    private static JointState State(Joint j, double lowest)
    {
        if (j.MicroOhm is <= 0 or > 1e6) return new(j.Number, false, true, T($"Joint {j.Number}: {j.MicroOhm:0.#} micro-ohm is no reading of a joint: measure with four wires again."));
        if (j.MicroOhm > RedoAbove * lowest)
            return new(j.Number, false, true, T($"Joint {j.Number} ({j.Where}): {j.MicroOhm:0.0} micro-ohm, {100 * (j.MicroOhm.Value / lowest - 1):0} % above the lowest like it ({lowest:0.0}): open, clean and make it again."));
        if (j.RiseK > WarmAboveK) return new(j.Number, false, true, T($"Joint {j.Number} ({j.Where}) is {j.RiseK:0.0} K warmer than its like under load: make it again."));
        var left = new List<string>();
        if (j.Cleaned is not true) left.Add(T("clean both faces"));
        if (j.Torqued is not true) left.Add(T($"torque to {j.TorqueNm:0.#} Nm"));
        if (j.Marked is not true) left.Add(T("set the witness mark"));
        if (j.MicroOhm is null) left.Add(T("measure with four wires"));
        if (j.RiseK is null) left.Add(T("thermal picture under first load"));
        return left.Count == 0 ? new(j.Number, true, false, T($"Joint {j.Number} is done: {j.MicroOhm:0.0} micro-ohm.")) : new(j.Number, false, false, T($"Joint {j.Number}: {string.Join(", ", left)}."));
    }
}
