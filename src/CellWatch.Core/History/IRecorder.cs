using CellWatch.Core.Commands;
using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.History;

/// <summary>
/// The one door through which everything is written to history. <see cref="IPackStateSink.Offer"/> takes snapshots and alarm steps; it is the strict
/// sink: it never blocks, and gives nothing up until its own queue of ten minutes is full.
/// </summary>
public interface IRecorder : IPackStateSink
{
    /// <summary>Whether what is measured reaches the store; changes by itself.</summary>
    RecordingView Recording { get; }

    /// <summary>Notes a step in an alarm's life; <see cref="IPackStateSink.Offer"/> does so for those of a published state. Returns at once.</summary>
    void RecordAlarm(AlarmTransition transition);

    /// <summary>Notes a command and its answer. Returns at once.</summary>
    void RecordCommand(PackCommand command, CommandAnswer answer, SnapshotTime time);

    /// <summary>Notes an event. Returns at once.</summary>
    /// <param name="kind">One of <see cref="EventKinds"/> or a word of one's own.</param>
    /// <param name="text">What, in a sentence.</param>
    /// <param name="time">When.</param>
    /// <param name="by">Who; empty where no person did it.</param>
    /// <param name="lengthS">How long it lasted, s.</param>
    void RecordEvent(string kind, string text, SnapshotTime time, string by = "", double? lengthS = null);

    /// <summary>Opens a run.</summary>
    /// <returns>Its number, once it is on disk.</returns>
    Task<long> OpenRunAsync(RunKind kind, string title, SnapshotTime time, string by, string settings = "");

    /// <summary>Closes a run.</summary>
    /// <returns>False where there is no open run of that number.</returns>
    Task<bool> CloseRunAsync(long run, SnapshotTime time, string by, string? settings = null);

    /// <summary>Adds a note.</summary>
    /// <returns>Its number, once it is on disk.</returns>
    Task<long> AddNoteAsync(string text, SnapshotTime time, string by, long? run = null);

    /// <summary>Adds a file.</summary>
    /// <returns>Its number, once it is on disk.</returns>
    Task<long> AddAttachmentAsync(string name, string mediaType, ReadOnlyMemory<byte> content, SnapshotTime time, string by, long? run = null);

    /// <summary>Keeps a stretch at full rate whatever its age.</summary>
    Task FreezeAsync(FrozenWindow window);
}
