namespace CellWatch.Core.Estimation;

/// <summary>Charge current at which no cell passes a voltage: min over cells of (limit - OCV) / R, never below 0. Source: Ohm's law on the circuit model.</summary>
public static class AllowedCurrent
{
    /// <summary>
    /// Current, A, and the index of the cell that sets it (-1 where no cell may be used: then the answer is 0, because unknown is
    /// unsafe). Cells with <paramref name="usable"/> false are left out; an empty span means all are usable.
    /// </summary>
    public static (double CurrentA, int Cell) Charge(
        ReadOnlySpan<double> ocvV, ReadOnlySpan<double> ohm, double limitV, ReadOnlySpan<bool> usable = default)
    {
        var lowest = double.PositiveInfinity;
        var cell = -1;
        for (var k = 0; k < ocvV.Length; k++)
        {
            if (!usable.IsEmpty && !usable[k]) continue;
            var allowed = Math.Max(0, (limitV - ocvV[k]) / ohm[k]);
            if (!(allowed < lowest)) continue;
            lowest = allowed;
            cell = k;
        }

        return (cell < 0 ? 0 : lowest, cell);
    }
}
