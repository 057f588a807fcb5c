using CellWatch.Core.Live;

namespace CellWatch.Host.Pipeline;

/// <summary>
/// Offers each state to every sink and catches per sink, so that a bad one never starves the others. A fault is logged once when it
/// begins and once, with its count, when it ends.
/// </summary>
public sealed partial class SinkSet(IEnumerable<IPackStateSink> sinks, ILogger<SinkSet> log)
{
    private readonly IPackStateSink[] _sinks = [.. sinks];
    private readonly Dictionary<string, long> _failures = [];

    /// <summary>Failures of each sink since it last worked, by name; a sink that works is absent.</summary>
    public IReadOnlyDictionary<string, long> Failures => _failures;

    /// <summary>Offers a state to all.</summary>
    public void Offer(PackState state)
    {
        foreach (var sink in _sinks)
        {
            try
            {
                sink.Offer(state);
                if (_failures.Count > 0 && _failures.Remove(sink.Name, out var count)) LogRecovered(sink.Name, count);
            }
#pragma warning disable CA1031 // The stage border: whatever a sink throws stays with that sink.
            catch (Exception fault)
#pragma warning restore CA1031
            {
                var count = _failures.GetValueOrDefault(sink.Name);
                _failures[sink.Name] = count + 1;
                if (count == 0) LogFailed(fault, sink.Name);
            }
        }
    }

    [LoggerMessage(Level = LogLevel.Error, Message = "{Sink} failed; the others go on. Repeats are counted, not repeated here")]
    private partial void LogFailed(Exception fault, string sink);

    [LoggerMessage(Level = LogLevel.Information, Message = "{Sink} works again after {Count} failures")]
    private partial void LogRecovered(string sink, long count);
}
