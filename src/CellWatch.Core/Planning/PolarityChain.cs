namespace CellWatch.Core.Planning;

/// <summary>One link between two slots.</summary>
/// <param name="FromSlot">Slot whose + it starts at.</param>
/// <param name="ToSlot">Slot whose - it ends at.</param>
/// <param name="LengthM">Straight distance between the terminals.</param>
/// <param name="IsJump">Longer than twice the usual link.</param>
public sealed record LinkBar(int FromSlot, int ToSlot, double LengthM, bool IsJump);

/// <summary>Two slots that lie side by side.</summary>
/// <param name="FirstSlot">One.</param>
/// <param name="SecondSlot">The other.</param>
/// <param name="HighestV">Highest voltage between their nearest terminals, full pack.</param>
public sealed record Neighbours(int FirstSlot, int SecondSlot, double HighestV);

/// <summary>The electrical side of a plan: from + to - through all slots.</summary>
/// <param name="Turned">Whether the module in each slot is turned round, in slot order.</param>
/// <param name="Links">Links in order from the negative end.</param>
/// <param name="LongestM">Length of the longest.</param>
/// <param name="Neighbours">Slots side by side with the voltage between them, highest first.</param>
/// <param name="Over60VAtJoint">Joint that takes the string over 60 V DC; 0 when the pack stays below.</param>
/// <param name="Cautions">What to say before joining.</param>
public sealed record PolarityChain(
    IReadOnlyList<bool> Turned, IReadOnlyList<LinkBar> Links, double LongestM, IReadOnlyList<Neighbours> Neighbours, int Over60VAtJoint, IReadOnlyList<string> Cautions)
{
    /// <summary>Voltage above which a DC part is hazardous, V (60 V DC, as ISO 6469-4:2015, 5.2.2, extract).</summary>
    public const double HazardousV = 60;

    /// <summary>
    /// Turns each module so that the links are as short as they can be together: exact, by going along the chain with two states a slot.
    /// </summary>
    /// <param name="slots">In electrical order from the negative end.</param>
    /// <param name="terminalM">Distance between a module's two terminals, m.</param>
    /// <param name="moduleHighestV">Voltage of a full module.</param>
    /// <param name="neighbourWithinM">Slots nearer than this, centre to centre, are neighbours.</param>
    public static PolarityChain Of(IReadOnlyList<Slot> slots, double terminalM, double moduleHighestV, double neighbourWithinM)
    {
        var turned = Turns(slots, terminalM);
        var lengths = Enumerable.Range(0, slots.Count - 1).Select(i => Length(slots, i, turned[i], turned[i + 1], terminalM)).ToList();
        var usual = lengths.Count == 0 ? 0 : Statistics.Robust.Median(lengths.ToArray());
        var links = lengths.Select((l, i) => new LinkBar(slots[i].Number, slots[i + 1].Number, l, l > 2 * usual + 1e-9)).ToList();
        var near = new List<Neighbours>();
        for (var a = 0; a < slots.Count; a++)
            for (var b = a + 1; b < slots.Count; b++)
                if (Distance(slots[a], slots[b]) <= neighbourWithinM) near.Add(new Neighbours(slots[a].Number, slots[b].Number, (b - a + 1) * moduleHighestV));
        var over = (int)Math.Floor(HazardousV / moduleHighestV);
        var cautions = new List<string>
        {
            T("The drawing is seen from above. Seen from below, or in a mirror, left and right change places: mark + on every slot before the first module goes in."),
            T("Before each joint: sense plugs out first; links tight; sense plugs in last. In the other order when taking apart."),
        };
        if (slots.Count > over) cautions.Add(T($"Joint {over} joins module {over + 1}: {(over + 1) * moduleHighestV:0.0} V, over 60 V DC. From there on covers on, two people, gloves."));
        return new PolarityChain(turned, links, lengths.DefaultIfEmpty(0).Max(), [.. near.OrderByDescending(n => n.HighestV)], slots.Count > over ? over : 0, cautions);
    }

    private static bool[] Turns(IReadOnlyList<Slot> slots, double terminalM)
    {
        var n = slots.Count;
        var cost = new double[n, 2];
        var from = new int[n, 2];
        for (var i = 1; i < n; i++)
            for (var t = 0; t < 2; t++)
            {
                double straight = cost[i - 1, 0] + Length(slots, i - 1, false, t == 1, terminalM), round = cost[i - 1, 1] + Length(slots, i - 1, true, t == 1, terminalM);
                from[i, t] = round < straight ? 1 : 0;
                cost[i, t] = Math.Min(straight, round);
            }

        var turned = new bool[n];
        if (n == 0) return turned;
        var state = cost[n - 1, 1] < cost[n - 1, 0] ? 1 : 0;
        for (var i = n - 1; i >= 0; i--)
        {
            turned[i] = state == 1;
            state = from[i, state];
        }

        return turned;
    }

    /// <summary>From the + of slot i to the - of the next. Terminals lie along y; a turned module has + to starboard.</summary>
    private static double Length(IReadOnlyList<Slot> slots, int i, bool turned, bool nextTurned, double terminalM)
    {
        double plusY = slots[i].Y + (turned ? -1 : 1) * terminalM / 2, minusY = slots[i + 1].Y - (nextTurned ? -1 : 1) * terminalM / 2;
        return Math.Sqrt(Math.Pow(slots[i + 1].X - slots[i].X, 2) + Math.Pow(minusY - plusY, 2) + Math.Pow(slots[i + 1].Z - slots[i].Z, 2));
    }

    private static double Distance(Slot a, Slot b) => Math.Sqrt(Math.Pow(a.X - b.X, 2) + Math.Pow(a.Y - b.Y, 2) + Math.Pow(a.Z - b.Z, 2));
}
