using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Dashboard.Live;
using CellWatch.Testing.Pages;

namespace CellWatch.Dashboard.Preview;

/// <summary>Half an hour of invented past, so that the time foot has something to show.</summary>
internal static class PreviewHistory
{
    public static void Recall(RecentStrip strip, string scene)
    {
        var charging = scene is not ("normal" or "no-data" or "lead" or "no-type");
        var points = new List<RecentPoint>();
        for (var t = -3600; t < 0; t += 5)
        {
            var at = Petrel.NoonMs + t * 1000L;
            if (!charging && t is > -1440 and < -1330) continue;
            var spread = (charging ? 60 : 24) + Math.Sin(t / 300.0) + Math.Sin(t * 1.7) * 0.5 + (t > -960 ? 1 : 0);
            var current = !charging ? 0 : t < -840 ? 12 : t < -810 ? 12 + (t + 840) * 1.6 : 60.1 + Math.Sin(t) * 0.2;
            if (scene == "taper" && t > -336) current = 60.1 * Math.Exp(-(t + 336) / 340.0);
            points.Add(new RecentPoint(at, spread / 1000, current));
        }

        long At(double minutes) => Petrel.NoonMs - (long)(minutes * 60_000);
        strip.Recall(points,
        [
            new(At(730), StateWord.Caution, "a", "B07.3", AlarmPriority.Low), new(At(480), StateWord.Caution, "b", "B04 sensor 1", AlarmPriority.Low),
            new(At(448), StateWord.Caution, "b", "B04 sensor 1", AlarmPriority.Low), new(At(315), StateWord.Caution, "b", "B04 sensor 1", AlarmPriority.Low),
            new(At(165), StateWord.Doubtful, "b", "B04 sensor 1", AlarmPriority.Low), new(At(16), StateWord.Caution, "d", "B07.3", AlarmPriority.Medium),
        ]);
    }
}
