namespace CellWatch.Simulation.Stories;

/// <summary>The stories that come with the program.</summary>
public static class AllStories
{
    /// <summary>Names, the default first.</summary>
    public static IReadOnlyList<string> Names { get; } = [FirstChargeStory.Name, NightStory.Name, BenchStory.Name];

    /// <summary>The story of that name.</summary>
    /// <exception cref="ArgumentException">There is none; the message lists the names.</exception>
    public static Story Named(string name) => name switch
    {
        FirstChargeStory.Name => FirstChargeStory.Create(),
        NightStory.Name => NightStory.Create(),
        BenchStory.Name => BenchStory.Create(),
        _ => throw new ArgumentException($"There is no story '{name}'. Known: {string.Join(", ", Names)}."),
    };
}
