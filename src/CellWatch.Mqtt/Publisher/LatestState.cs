using CellWatch.Core.Live;

namespace CellWatch.Mqtt;

/// <summary>The newest state between the pack's task and the sending task: latest wins.</summary>
internal sealed class LatestState
{
    private PackState? _state;

    /// <summary>The newest; null before the first.</summary>
    public PackState? State => Volatile.Read(ref _state);

    /// <summary>Time stamp of the first; of meaning once there is a state.</summary>
    public long FirstAt { get; private set; }

    /// <summary>Puts a newer one in its place; for one task.</summary>
    public void Put(PackState state, TimeProvider time)
    {
        if (_state is null) FirstAt = time.GetTimestamp();
        Volatile.Write(ref _state, state);
    }
}
