using CellWatch.Core.FrontEnds;
using CellWatch.Core.Live;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Proofs;

/// <summary>
/// Notices that a module's sense connector was opened: all its cells fall silent, or read open, and stay so, while the instrument they hang on goes
/// on speaking. An instrument that is gone as a whole says nothing about connectors. Times are the elapsed clock's. Own rule; not safe for several
/// threads.
/// </summary>
/// <param name="map">The pack's channels.</param>
public sealed class ConnectorOpening(ChannelMap map)
{
    /// <summary>So long it must last, s: a plug that is out stays out, a lost frame does not.</summary>
    public const double HeldS = 5;

    /// <summary>An instrument whose last frame is older than this is not speaking, s.</summary>
    public const double SpeaksWithinS = 2;

    private readonly long?[] silentSinceUs = new long?[map.Layout.Modules.Length];
    private readonly bool[] wasWhole = new bool[map.Layout.Modules.Length];

    /// <summary>Takes a state.</summary>
    /// <returns>Modules whose connector is found open now, each once until all its cells were good again; null where there is none.</returns>
    public IReadOnlyList<int>? Step(PackState state)
    {
        List<int>? opened = null;
        for (var m = 0; m < wasWhole.Length; m++)
        {
            var (good, silent, open) = Look(state.Snapshot, m);
            if (good) (wasWhole[m], silentSinceUs[m]) = (true, null);
            // Never seen whole: nothing was plugged in yet that could have been opened.
            else if (wasWhole[m] && silent && (open || Speaks(state, map.Layout.FirstCell(m))))
            {
                silentSinceUs[m] ??= state.Snapshot.Time.ElapsedUs;
                if ((state.Snapshot.Time.ElapsedUs - silentSinceUs[m]!.Value) * 1e-6 < HeldS) continue;
                (wasWhole[m], silentSinceUs[m]) = (false, null);
                (opened ??= []).Add(m);
            }
            else silentSinceUs[m] = null;
        }

        return opened;
    }

    private (bool Good, bool Silent, bool Open) Look(Snapshot scan, int module)
    {
        var (good, silent, open) = (true, true, true);
        for (var c = map.Layout.FirstCell(module); c < map.Layout.FirstCell(module + 1); c++)
        {
            var quality = scan.Quality[c];
            good &= quality == Quality.Good;
            open &= quality == Quality.Open;
            silent &= quality is Quality.Missing or Quality.Stale or Quality.OutOfRange or Quality.Open;
        }

        return (good, silent, open);
    }

    private static bool Speaks(PackState state, int cell)
    {
        foreach (var instrument in state.FrontEnds)
            if (instrument.Channels.Contains(cell)) return instrument.State == LinkState.Alive && instrument.LastFrameAgeS <= SpeaksWithinS;
        return false;
    }
}
