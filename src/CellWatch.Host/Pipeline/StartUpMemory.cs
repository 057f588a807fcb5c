namespace CellWatch.Host.Pipeline;

/// <summary>
/// What a start leaves behind: playing hours of a simulated past and entering a project allocate in seconds what the running service
/// never needs again. It is given back once, at a moment of our choice, rather than carried for the life of the process.
/// </summary>
internal static class StartUpMemory
{
    /// <summary>Collects everything and returns the room to the system; takes some tens of milliseconds.</summary>
    public static void GiveBack()
    {
        System.Runtime.GCSettings.LargeObjectHeapCompactionMode = System.Runtime.GCLargeObjectHeapCompactionMode.CompactOnce;
        GC.Collect(GC.MaxGeneration, GCCollectionMode.Aggressive, blocking: true, compacting: true);
    }
}
