using System.Collections.Immutable;
using System.Text;

namespace CellWatch.FrontEnds.SignalDatabase;

/// <summary>
/// The messages of a CAN bus and what their bits mean, read from a DBC file. Looked up by identifier without allocation. Immutable; safe to share.
/// </summary>
public sealed class CanDatabase
{
    private const uint ExtendedKey = 0x8000_0000;
    private readonly uint[] _keys;
    private readonly CanMessage?[] _slots;
    private readonly uint _slotMask;

    internal CanDatabase(string file, ImmutableArray<CanMessage> messages, ImmutableArray<DatabaseWarning> warnings)
    {
        File = file;
        Messages = messages;
        Warnings = warnings;
        MaxSignals = messages.IsEmpty ? 0 : messages.Max(m => m.Signals.Length);
        var size = System.Numerics.BitOperations.RoundUpToPowerOf2((uint)Math.Max(8, messages.Length * 4));
        _slotMask = size - 1;
        _keys = new uint[size];
        _slots = new CanMessage?[size];
        foreach (var message in messages)
        {
            var key = KeyOf(message.Id, message.IsExtended);
            var slot = SlotOf(key);
            while (_slots[slot] is not null) slot = slot + 1 & _slotMask;
            _keys[slot] = key;
            _slots[slot] = message;
        }
    }

    /// <summary>The file as it was named.</summary>
    public string File { get; }

    /// <summary>Its messages in the order of the file.</summary>
    public ImmutableArray<CanMessage> Messages { get; }

    /// <summary>What was odd while reading: unknown sections, overlapping signals.</summary>
    public ImmutableArray<DatabaseWarning> Warnings { get; }

    /// <summary>Most signals any message has: the length a value buffer needs.</summary>
    public int MaxSignals { get; }

    /// <summary>Reads a DBC file, UTF-8 or (old files) Windows-1252.</summary>
    /// <exception cref="DatabaseException">It cannot be read or is not valid; the message names file and line.</exception>
    public static CanDatabase Load(string path)
    {
        byte[] bytes;
        try
        {
            bytes = System.IO.File.ReadAllBytes(path);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or NotSupportedException)
        {
            throw new DatabaseException($"{path}: the signal database cannot be read: {e.Message}", e);
        }

        return Parse(Text(bytes), path);
    }

    /// <summary>Reads the text of a DBC file.</summary>
    /// <param name="text">The whole text.</param>
    /// <param name="file">How to name it in messages.</param>
    /// <exception cref="DatabaseException">It is not valid; the message names the line.</exception>
    public static CanDatabase Parse(string text, string file) => new DbcReader(text, file).Read();

    /// <summary>The message of an identifier; null where the database has none. No allocation.</summary>
    public CanMessage? Find(uint id, bool isExtended)
    {
        var key = KeyOf(id, isExtended);
        for (var slot = SlotOf(key); _slots[slot] is { } message; slot = slot + 1 & _slotMask)
            if (_keys[slot] == key) return message;
        return null;
    }

    /// <summary>A message by name; null where there is none.</summary>
    public CanMessage? Find(string name) => Messages.FirstOrDefault(m => string.Equals(m.Name, name, StringComparison.Ordinal));

    private static uint KeyOf(uint id, bool isExtended) => isExtended ? id | ExtendedKey : id;

    // Fibonacci hashing: identifiers of one bus differ mostly in their low bits.
    private uint SlotOf(uint key) => key * 2654435769u >> 16 & _slotMask;

    private static string Text(byte[] bytes)
    {
        var start = bytes.AsSpan().StartsWith(Encoding.UTF8.Preamble) ? Encoding.UTF8.Preamble.Length : 0;
        try
        {
            return new UTF8Encoding(false, throwOnInvalidBytes: true).GetString(bytes, start, bytes.Length - start);
        }
        catch (DecoderFallbackException)
        {
            return CodePagesEncodingProvider.Instance.GetEncoding(1252)!.GetString(bytes, start, bytes.Length - start);
        }
    }
}
