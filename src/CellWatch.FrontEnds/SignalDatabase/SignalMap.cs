using System.Collections.Immutable;
using System.Globalization;
using CellWatch.Core.Snapshots;
using CellWatch.FrontEnds.Options;

namespace CellWatch.FrontEnds.SignalDatabase;

/// <summary>What the board says about itself, as signals.</summary>
internal enum BoardSignal : byte
{
    Identity,
    Sequence,
    BoardTemperature,
    Supply,
    BleedTimeout,
    Isolated,
    Simulated,
}

/// <summary>One signal of a message and the channel it feeds.</summary>
/// <param name="Signal">Index of the signal in its message.</param>
/// <param name="Channel">Flat channel; of a mask, the first of its run.</param>
/// <param name="Sign">-1 turns a current round.</param>
/// <param name="MaskBits">0 for a value; else how many bits, lowest first, feed that many channels.</param>
internal readonly record struct MappedSignal(int Signal, int Channel, int Sign, int MaskBits);

/// <summary>What one message feeds.</summary>
internal sealed class MappedMessage(CanMessage message)
{
    public CanMessage Message { get; } = message;

    public MappedSignal[] Signals { get; set; } = [];

    public (BoardSignal What, int Signal)[] Board { get; set; } = [];
}

/// <summary>
/// Which signal of the database feeds which channel of the pack, worked out once from patterns such as <c>M{module:00}_C{cell:00}_V</c>, so that
/// nobody types 108 names. Looked up by message without allocation.
/// </summary>
internal sealed class SignalMap
{
    private readonly Dictionary<CanMessage, MappedMessage> _byMessage;

    private SignalMap(IEnumerable<MappedMessage> messages, ImmutableArray<ulong> noDataCodes)
    {
        _byMessage = messages.ToDictionary(m => m.Message);
        NoDataCodes = noDataCodes;
    }

    public ImmutableArray<ulong> NoDataCodes { get; }

    /// <summary>Every channel it feeds.</summary>
    public IEnumerable<int> Channels => _byMessage.Values.SelectMany(m => m.Signals).SelectMany(s => Enumerable.Range(s.Channel, Math.Max(1, s.MaskBits)));

    public MappedMessage? Find(CanMessage message) => _byMessage.GetValueOrDefault(message);

    public bool HasBoardSignal(BoardSignal what) => _byMessage.Values.Any(m => m.Board.Any(b => b.What == what));

    /// <summary>Works the map out.</summary>
    /// <param name="database">The signals there are.</param>
    /// <param name="channels">The channels to feed.</param>
    /// <param name="options">The patterns.</param>
    /// <param name="auxiliaryNames">Names of this board's channels beside the pack, in order.</param>
    /// <param name="problems">Receives what is wrong.</param>
    public static SignalMap Build(CanDatabase database, BoardChannels channels, SignalMapOptions options, IReadOnlyList<string> auxiliaryNames, List<OptionProblem> problems)
    {
        var builder = new Builder(database, channels, problems);
        builder.AddCells(options);
        builder.AddTemperatures(options);
        builder.AddPack(options);
        builder.AddBleed(options);
        builder.AddAuxiliaries(options, auxiliaryNames);
        builder.AddBoard(options);
        return new SignalMap(builder.Messages, ParseCodes(options.NoDataCodes, problems));
    }

    private static ImmutableArray<ulong> ParseCodes(IEnumerable<string> codes, List<OptionProblem> problems)
    {
        var parsed = ImmutableArray.CreateBuilder<ulong>();
        foreach (var code in codes)
        {
            var isHex = code.StartsWith("0x", StringComparison.OrdinalIgnoreCase);
            if (ulong.TryParse(isHex ? code.AsSpan(2) : code, isHex ? NumberStyles.HexNumber : NumberStyles.None, CultureInfo.InvariantCulture, out var value)) parsed.Add(value);
            else problems.Add(new("signals.noDataCodes", code, "raw values such as 0xFFFF or 65535"));
        }

        return parsed.ToImmutable();
    }

    private sealed class Builder(CanDatabase database, BoardChannels channels, List<OptionProblem> problems)
    {
        private readonly Dictionary<CanMessage, List<MappedSignal>> _signals = [];
        private readonly Dictionary<CanMessage, List<(BoardSignal, int)>> _board = [];
        private readonly Dictionary<(CanMessage, int), string> _usedBy = [];
        private readonly ILookup<string, (CanMessage Message, CanSignal Signal)> _byName =
            database.Messages.SelectMany(m => m.Signals.Select(s => (Message: m, Signal: s))).ToLookup(p => p.Signal.Name, StringComparer.Ordinal);

        public IEnumerable<MappedMessage> Messages => _signals.Keys.Union(_board.Keys).Select(m => new MappedMessage(m)
        {
            Signals = [.. _signals.GetValueOrDefault(m, [])],
            Board = [.. _board.GetValueOrDefault(m, [])],
        });

        public void AddCells(SignalMapOptions options)
        {
            if (channels.ModuleCount == 0) return;
            if (!Check("signals.cells", options.Cells, isNeeded: true, "{module}", "{cell}")) return;
            for (var module = 1; module <= channels.ModuleCount; module++)
                for (var cell = 1; cell <= channels.CellCount(module); cell++)
                    Add("signals.cells", SignalPattern.Fill(options.Cells, module + options.FirstModule - 1, cell), channels.Cell(module, cell));
        }

        public void AddTemperatures(SignalMapOptions options)
        {
            if (options.Temperatures.Length == 0 || !Check("signals.temperatures", options.Temperatures, isNeeded: false, "{module}", "{sensor}")) return;
            for (var module = 1; module <= channels.ModuleCount; module++)
                for (var sensor = 1; sensor <= channels.TemperatureCount(module); sensor++)
                    Add("signals.temperatures", SignalPattern.Fill(options.Temperatures, module + options.FirstModule - 1, sensor), channels.Temperature(module, sensor));
        }

        public void AddPack(SignalMapOptions options)
        {
            if (options.PackCurrent.Length > 0) Add("signals.packCurrent", options.PackCurrent, channels.Map.PackCurrent, options.InvertCurrent ? -1 : 1);
            if (options.StringVoltage.Length > 0) Add("signals.stringVoltage", options.StringVoltage, channels.Map.StringVoltage);
        }

        public void AddBleed(SignalMapOptions options)
        {
            if (options.BleedMask.Length == 0 || !Check("signals.bleedMask", options.BleedMask, isNeeded: false, "{module}")) return;
            for (var module = 1; module <= channels.ModuleCount; module++)
                Add("signals.bleedMask", SignalPattern.Fill(options.BleedMask, module + options.FirstModule - 1, 0), channels.Bleed(module, 1), 1, channels.CellCount(module));
        }

        public void AddAuxiliaries(SignalMapOptions options, IReadOnlyList<string> names)
        {
            foreach (var (name, signal) in options.Auxiliaries)
            {
                var index = names.ToList().FindIndex(n => string.Equals(n, name, StringComparison.OrdinalIgnoreCase));
                if (index < 0) problems.Add(new("signals.auxiliaries", name, "a channel beside the pack of this site", Nearest.Of(name, names)));
                else Add("signals.auxiliaries", signal, channels.Auxiliary(index + 1));
            }
        }

        public void AddBoard(SignalMapOptions options)
        {
            AddBoard("signals.identity", options.Identity, BoardSignal.Identity);
            AddBoard("signals.sequence", options.Sequence, BoardSignal.Sequence);
            AddBoard("signals.boardTemperature", options.BoardTemperature, BoardSignal.BoardTemperature);
            AddBoard("signals.supply", options.Supply, BoardSignal.Supply);
            AddBoard("signals.bleedTimeout", options.BleedTimeout, BoardSignal.BleedTimeout);
            AddBoard("signals.isolated", options.Isolated, BoardSignal.Isolated);
            AddBoard("signals.simulated", options.Simulated, BoardSignal.Simulated);
        }

        private bool Check(string field, string pattern, bool isNeeded, params string[] parts)
        {
            if (pattern.Length == 0)
            {
                if (isNeeded) problems.Add(new(field, pattern, $"a pattern with {string.Join(" and ", parts)}, say M{{module:00}}_C{{cell:00}}_V"));
                return false;
            }

            // A pattern for the only module, or modules of one cell, needs no place for its number.
            foreach (var part in parts)
            {
                var isSingle = part == "{module}" && channels.ModuleCount == 1;
                if (isSingle || SignalPattern.Has(pattern, part)) continue;
                problems.Add(new(field, pattern, $"a pattern that contains {part} (or {part[..^1]}:00}} for two digits)"));
                return false;
            }

            return true;
        }

        private void Add(string field, string name, int channel, int sign = 1, int maskBits = 0)
        {
            if (FindSignal(field, name, channels.Map.NameOf(channel)) is not { } found) return;
            var user = channels.Map.NameOf(channel);
            if (!_usedBy.TryAdd((found.Message, found.Signal.Index), user))
            {
                problems.Add(new(field, name, $"one channel a signal: {_usedBy[(found.Message, found.Signal.Index)]} and {user} are both mapped to it"));
                return;
            }

            Slot(_signals, found.Message).Add(new MappedSignal(found.Signal.Index, channel, sign, maskBits));
        }

        private void AddBoard(string field, string name, BoardSignal what)
        {
            if (name.Length == 0 || FindSignal(field, name, "the board") is not { } found) return;
            Slot(_board, found.Message).Add((what, found.Signal.Index));
        }

        private (CanMessage Message, CanSignal Signal)? FindSignal(string field, string name, string forWhat)
        {
            var found = _byName[name].ToArray();
            if (found.Length == 1) return found[0];
            problems.Add(found.Length == 0
                ? new(field, name, $"a signal of {database.File} (needed for {forWhat})", Nearest.Of(name, _byName.Select(g => g.Key)))
                : new(field, name, $"a name that only one signal has: it is in {found[0].Message.Name} and {found[1].Message.Name}"));
            return null;
        }

        private static List<T> Slot<T>(Dictionary<CanMessage, List<T>> lists, CanMessage message)
        {
            if (!lists.TryGetValue(message, out var list)) lists.Add(message, list = []);
            return list;
        }
    }
}
