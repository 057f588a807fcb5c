using System.Diagnostics.Tracing;
using Microsoft.Diagnostics.NETCore.Client;
using Microsoft.Diagnostics.Tracing;

namespace CellWatch.Benchmarks.Service;

/// <summary>
/// Follows the garbage-collected heap of another .NET process through its own counters. Between collections it holds garbage too, so
/// the floor of a stretch is what is compared.
/// </summary>
internal sealed class HeapListener : IDisposable
{
    private readonly EventPipeSession _session;
    private readonly Task _listening;
    private double _floorMb = double.NaN;

    public HeapListener(int processId)
    {
        var provider = new EventPipeProvider("System.Runtime", EventLevel.Informational, 0, new Dictionary<string, string>(StringComparer.Ordinal) { ["EventCounterIntervalSec"] = "1" });
        _session = new DiagnosticsClient(processId).StartEventPipeSession([provider], requestRundown: false);
        _listening = Task.Run(() =>
        {
            using var source = new EventPipeEventSource(_session.EventStream);
            source.Dynamic.All += Take;
            source.Process();
        });
    }

    /// <summary>The least since the last call, MB; NaN where nothing came.</summary>
    public double TakeFloorMb() => Interlocked.Exchange(ref _floorMb, double.NaN);

    public void Dispose()
    {
        _session.Stop();
        _listening.Wait(TimeSpan.FromSeconds(5));
        _session.Dispose();
    }

    private void Take(TraceEvent counters)
    {
        if (counters.EventName != "EventCounters" || counters.PayloadValue(0) is not IDictionary<string, object> outer) return;
        if (outer["Payload"] is not IDictionary<string, object> counter || counter["Name"] as string != "gc-heap-size") return;
        var mb = (double)counter["Mean"];
        if (!(_floorMb <= mb)) Interlocked.Exchange(ref _floorMb, mb);
    }
}
