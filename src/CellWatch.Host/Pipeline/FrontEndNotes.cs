using CellWatch.FrontEnds.Running;

namespace CellWatch.Host.Pipeline;

/// <summary>Brings what a front end says about its link to the service log.</summary>
internal static partial class FrontEndNotes
{
    public static Action<string, FrontEndNote, string> To(ILogger log) => (name, note, sentence) =>
    {
        if (note == FrontEndNote.Warning) Warn(log, name, sentence);
        else Tell(log, name, sentence);
    };

    [LoggerMessage(Level = LogLevel.Information, Message = "Instrument {Name}: {Sentence}")]
    private static partial void Tell(ILogger log, string name, string sentence);

    [LoggerMessage(Level = LogLevel.Warning, Message = "Instrument {Name}: {Sentence}")]
    private static partial void Warn(ILogger log, string name, string sentence);
}
