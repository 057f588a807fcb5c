namespace CellWatch.FrontEnds.Running;

/// <summary>How serious a note for the log is.</summary>
public enum FrontEndNote
{
    /// <summary>Something to know: opened, identified.</summary>
    Information,

    /// <summary>Something to look after: lost, refused, another device.</summary>
    Warning,
}

/// <summary>What a front end needs from its surroundings.</summary>
/// <param name="Time">Wall time and all pauses; a simulation hands in its own.</param>
/// <param name="ElapsedUs">Elapsed microseconds on the clock the assembler is given.</param>
/// <param name="Log">Told each change of a link once, never once a frame: front end's name, seriousness, a sentence.</param>
public sealed record FrontEndContext(TimeProvider Time, Func<long> ElapsedUs, Action<string, FrontEndNote, string>? Log = null)
{
    /// <summary>A context whose elapsed time is the provider's own time stamp.</summary>
    public static FrontEndContext On(TimeProvider time, Action<string, FrontEndNote, string>? log = null) =>
        new(time, () => (long)(time.GetTimestamp() * (1e6 / time.TimestampFrequency)), log);
}
