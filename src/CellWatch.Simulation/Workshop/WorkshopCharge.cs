using CellWatch.Core.Estimation.Ocv;

namespace CellWatch.Simulation.Workshop;

/// <summary>What a simulated charge came to.</summary>
/// <param name="LimitedBy">Cell first at the target; empty when none was.</param>
/// <param name="LimitedAtV">Its voltage.</param>
/// <param name="LimitedAtA">The current then.</param>
/// <param name="InAh">Charge put in.</param>
/// <param name="PackWh">Energy into the pack.</param>
/// <param name="Hours">How long.</param>
/// <param name="EndA">Current at the end.</param>
/// <param name="Course">Each minute: seconds, current, highest and lowest cell.</param>
public sealed record WorkshopChargeResult(
    string LimitedBy, double LimitedAtV, double LimitedAtA, double InAh, double PackWh, double Hours, double EndA, IReadOnlyList<(double TimeS, double CurrentA, double HighestV, double LowestV)> Course);

/// <summary>A charge of modules in series, simulated: constant current, then as much as keeps the highest cell at its target.</summary>
public static class WorkshopCharge
{
    private static readonly OcvCurve Curve = OcvCurves.Named("nmc532-graphite-mohtat2020");

    /// <summary>Charges from one level of all cells until a level of the mean, a target of the highest, or an end current.</summary>
    public static WorkshopChargeResult Run(IReadOnlyList<WorkshopModule> modules, double fromPercent, double toPercent, double currentA, double targetV, double endA)
    {
        const double StepS = 10;
        var cells = modules.SelectMany(m => m.GroupAh.Select((ah, g) => (Name: $"{m.Identity}.{g + 1}", Ah: ah, Ohm: (m.OhmicMilliohm[g] + m.SlowMilliohm[g]) / 1000))).ToArray();
        // All are full together, as after a balance at the top: a small cell stands lower now and climbs faster.
        var missingAh = cells.Average(c => c.Ah) * (1 - fromPercent / 100);
        double inAh = 0, wh = 0, hours = 0, a = currentA, limitedA = 0, limitedV = 0;
        var limitedBy = "";
        var course = new List<(double, double, double, double)>();
        while (fromPercent + 100 * inAh / cells.Average(c => c.Ah) < toPercent && a > endA)
        {
            double sumV = 0, allowedA = currentA, highestV = 0, lowestV = double.PositiveInfinity;
            var highest = "";
            foreach (var c in cells)
            {
                var ocv = Curve.VoltageAt(Math.Clamp(100 * (1 - (missingAh - inAh) / c.Ah), 0, 100));
                var v = ocv + a * c.Ohm;
                sumV += v;
                allowedA = Math.Min(allowedA, (targetV - ocv) / c.Ohm);
                if (v > highestV) (highest, highestV) = (c.Name, v);
                lowestV = Math.Min(lowestV, v);
            }

            if (Math.Round(hours * 3600) % 60 < StepS) course.Add((Math.Round(hours * 3600), Math.Round(a, 2), Math.Round(highestV, 4), Math.Round(lowestV, 4)));

            if (limitedBy.Length == 0 && highestV >= targetV) (limitedBy, limitedV, limitedA) = (highest, Math.Round(highestV, 3), a);
            a = Math.Max(0, Math.Min(currentA, allowedA));
            inAh += a * StepS / 3600;
            wh += sumV * a * StepS / 3600;
            hours += StepS / 3600;
        }

        return new WorkshopChargeResult(limitedBy, limitedV, limitedA, inAh, wh, hours, a, course);
    }
}
