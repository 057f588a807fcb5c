using System.Collections.Frozen;
using System.Collections.Immutable;

namespace CellWatch.FrontEnds.SignalDatabase;

/// <summary>Reads the text of a DBC file into messages. One object a file.</summary>
internal sealed class DbcReader(string text, string file)
{
    private const ulong ExtendedBit = 0x8000_0000;
    // The editors' holder of signals that belong to no message.
    private const ulong LooseSignals = 0xC000_0000;

    private static readonly FrozenSet<string> IgnoredSections = new[]
    {
        "VAL_TABLE_", "BO_TX_BU_", "ENVVAR_DATA_", "EV_", "EV_DATA_", "SGTYPE_", "SGTYPE_VAL_", "SIG_GROUP_", "SIG_TYPE_REF_",
        "SIGTYPE_VALTYPE_", "CM_", "BA_DEF_REL_", "BA_REL_", "BA_DEF_DEF_", "BA_DEF_DEF_REL_", "BA_DEF_SGTYPE_", "BA_SGTYPE_",
        "CAT_DEF_", "CAT_", "FILTER", "NS_DESC_", "BU_SG_REL_", "BU_EV_REL_", "BU_BO_REL_",
    }.ToFrozenSet(StringComparer.Ordinal);

    private static readonly FrozenSet<string> Sections = IgnoredSections
        .Concat(["VERSION", "NS_", "BS_", "BU_", "BO_", "SG_", "VAL_", "BA_", "BA_DEF_", "SIG_VALTYPE_", "SG_MUL_VAL_"])
        .ToFrozenSet(StringComparer.Ordinal);

    private readonly DbcScanner _scan = new(text, file);
    private readonly Dictionary<ulong, DraftMessage> _messages = [];
    private readonly Dictionary<ulong, int> _leftOut = [];
    private readonly List<DatabaseWarning> _warnings = [];
    private string[] _frameFormats = [];

    public CanDatabase Read()
    {
        while (!_scan.IsAtEnd) ReadStatement();
        if (_messages.Count == 0 && _leftOut.Count == 0)
            throw _scan.Error("the file holds no message (no line begins with BO_): is it a signal database?");
        var messages = _messages.Values.Select(m => m.Finish(_scan, _warnings)).ToImmutableArray();
        foreach (var twin in messages.GroupBy(m => m.Name, StringComparer.Ordinal).Where(g => g.Count() > 1))
            _warnings.Add(new(twin.Last().Line, $"the name '{twin.Key}' is given to more than one message."));
        return new CanDatabase(file, messages, [.. _warnings.OrderBy(w => w.Line)]);
    }

    private void ReadStatement()
    {
        var line = _scan.Line;
        _scan.Inside = "the file";
        var section = _scan.PeekWord();
        if (section.Length == 0) throw _scan.Error($"a section such as BO_ expected, found '{_scan.Next}'.");
        _scan.TakeWord("a section");
        _scan.Inside = $"section {section}";
        switch (section)
        {
            case "VERSION": _scan.TakeString("the version"); _scan.TryTake(';'); break;
            case "NS_": SkipKeywordList(); break;
            case "BS_": _scan.SkipLine(); break;
            case "BU_": SkipNodes(); break;
            case "BO_": ReadMessage(line); break;
            case "SG_": throw _scan.Error("a signal (SG_) stands outside any message.");
            case "VAL_": ReadLabels(line); break;
            case "BA_DEF_": ReadAttributeDefinition(); break;
            case "BA_": ReadAttribute(); break;
            case "SIG_VALTYPE_": ReadValueType(line); break;
            case "SG_MUL_VAL_": ReadPages(line); break;
            default:
                if (!IgnoredSections.Contains(section)) _warnings.Add(new(line, $"unknown section '{section}' skipped."));
                _scan.SkipStatement();
                break;
        }
    }

    private void SkipKeywordList()
    {
        _scan.TryTake(':');
        while (!_scan.IsAtEnd && _scan.PeekWord() is { Length: > 0 } word && word is not ("BS_" or "BU_" or "BO_")) _scan.TakeWord("a keyword");
    }

    private void SkipNodes()
    {
        _scan.TryTake(':');
        while (!_scan.IsAtEnd && _scan.PeekWord() is { Length: > 0 } word && !Sections.Contains(word)) _scan.TakeWord("a node");
    }

    private void ReadMessage(int line)
    {
        var id = _scan.TakeWhole("the identifier");
        var name = _scan.TakeWord("the name");
        _scan.Inside = $"message {name}";
        _scan.Expect(':');
        var length = _scan.TakeWhole("the length in bytes");
        if (!_scan.NextIsOnAnotherLine()) _scan.TakeWord("the sender");

        var message = new DraftMessage(name, (uint)(id & CanFrame.MaxExtendedId), (id & ExtendedBit) != 0, (int)Math.Min(length, int.MaxValue), line);
        while (!_scan.IsAtEnd && string.Equals(_scan.PeekWord(), "SG_", StringComparison.Ordinal)) ReadSignal(message);
        if (id == LooseSignals) return;

        var isTooWide = (id & ExtendedBit) != 0 ? (id & ~ExtendedBit) > CanFrame.MaxExtendedId : id > CanFrame.MaxStandardId;
        if (isTooWide)
            throw _scan.Error($"message {name}: the identifier {id} is none; 11-bit ones go to 2047, 29-bit ones are written with 2147483648 added.", line);
        if (length is 0 or > CanFrame.MaxLength)
        {
            _leftOut[id] = line;
            _warnings.Add(new(line, $"message {name} is {length} bytes long and left out: a frame carries 1 to {CanFrame.MaxLength}."));
            return;
        }

        if (_messages.TryGetValue(id, out var twin))
            throw _scan.Error($"messages {twin.Name} (line {twin.Line}) and {name} have the same identifier {id}.", line);
        _messages.Add(id, message);
    }

    private void ReadSignal(DraftMessage message)
    {
        var line = _scan.Line;
        _scan.TakeWord("SG_");
        var name = _scan.TakeWord("the signal's name");
        _scan.Inside = $"signal {name} of message {message.Name}";
        var (isSwitch, page) = ReadMultiplexMark();
        _scan.Expect(':');
        var start = (int)Math.Min(_scan.TakeWhole("the start bit"), int.MaxValue);
        _scan.Expect('|');
        var length = (int)Math.Min(_scan.TakeWhole("the length in bits"), int.MaxValue);
        _scan.Expect('@');
        var order = _scan.TakeWhole("the byte order, 1 or 0");
        if (order > 1) throw _scan.Error($"{_scan.Inside}: byte order is {order}; allowed are 1 (least significant first) and 0.", line);
        var isSigned = _scan.TryTake('-');
        if (!isSigned) _scan.Expect('+');
        _scan.Expect('(');
        var scale = _scan.TakeNumber("the factor");
        _scan.Expect(',');
        var offset = _scan.TakeNumber("the offset");
        _scan.Expect(')');
        _scan.Expect('[');
        var minimum = _scan.TakeNumber("the minimum");
        _scan.Expect('|');
        var maximum = _scan.TakeNumber("the maximum");
        _scan.Expect(']');
        var unit = _scan.TakeString("the unit");
        SkipReceivers();

        if (length is < 1 or > 64) throw _scan.Error($"{_scan.Inside} is {length} bits long; allowed are 1 to 64.", line);
        if (scale == 0) throw _scan.Error($"{_scan.Inside} has the factor 0: no value could be told from another.", line);
        var signal = new CanSignal(name, start, length, order == 1 ? ByteOrder.LittleEndian : ByteOrder.BigEndian, isSigned ? SignalNumber.Signed : SignalNumber.Unsigned)
        {
            Scale = scale,
            Offset = offset,
            Minimum = minimum,
            Maximum = maximum,
            Unit = unit,
            Line = line,
            IsSwitch = isSwitch,
            Index = message.Signals.Count,
        };
        if (message.Length is > 0 and <= CanFrame.MaxLength && signal.ByteSpan.Last >= message.Length)
            throw _scan.Error($"{_scan.Inside} reaches beyond the message's {message.Length} bytes.", line);
        if (message.Signals.Exists(s => string.Equals(s.Name, name, StringComparison.Ordinal)))
            throw _scan.Error($"{_scan.Inside} is described twice.", line);
        message.Signals.Add(signal);
        if (page is { } value) message.Pages[signal.Index] = value;
    }

    private (bool IsSwitch, ulong? Page) ReadMultiplexMark()
    {
        if (_scan.Next == ':') return (false, null);
        var mark = _scan.TakeWord("':' or a multiplex mark");
        if (string.Equals(mark, "M", StringComparison.Ordinal)) return (true, null);
        var isSwitch = mark.EndsWith('M');
        var digits = isSwitch ? mark[1..^1] : mark[1..];
        if (mark[0] == 'm' && ulong.TryParse(digits, System.Globalization.NumberStyles.None, System.Globalization.CultureInfo.InvariantCulture, out var page))
            return (isSwitch, page);
        throw _scan.Error($"{_scan.Inside}: '{mark}' is no multiplex mark; allowed are M, m<number> and m<number>M.");
    }

    private void SkipReceivers()
    {
        if (_scan.NextIsOnAnotherLine()) return;
        do _scan.TakeWord("a receiver");
        while (_scan.TryTake(','));
        // Some writers part receivers by blanks.
        while (!_scan.NextIsOnAnotherLine() && _scan.PeekWord().Length > 0) _scan.TakeWord("a receiver");
    }

    private void ReadLabels(int line)
    {
        // VAL_ of an environment variable has a name where a message has a number.
        if (_scan.PeekWord().Length > 0)
        {
            _scan.SkipStatement();
            return;
        }

        var signal = FindSignal(line);
        var labels = new Dictionary<long, string>();
        while (!_scan.TryTake(';'))
        {
            var isNegative = _scan.TryTake('-');
            var raw = (long)_scan.TakeWhole("a raw value");
            labels[isNegative ? -raw : raw] = _scan.TakeString("a label");
        }

        if (signal is not null) signal.Labels = labels;
    }

    private void ReadAttributeDefinition()
    {
        if (_scan.PeekWord() is "BO_")
        {
            _scan.TakeWord("BO_");
            if (_scan.TakeString("the attribute's name") is "VFrameFormat" && _scan.PeekWord() is "ENUM")
            {
                _scan.TakeWord("ENUM");
                var formats = new List<string>();
                do formats.Add(_scan.TakeString("a frame format"));
                while (_scan.TryTake(','));
                _frameFormats = [.. formats];
            }
        }

        _scan.SkipStatement();
    }

    private void ReadAttribute()
    {
        if (_scan.TakeString("the attribute's name") is "VFrameFormat" && _scan.PeekWord() is "BO_")
        {
            _scan.TakeWord("BO_");
            var id = _scan.TakeWhole("the message's identifier");
            var isFd = _scan.Next == '"' ? IsFdName(_scan.TakeString("the frame format")) : IsFdNumber(_scan.TakeWhole("the frame format"));
            if (_messages.TryGetValue(id, out var message)) message.IsFd = isFd;
        }

        _scan.SkipStatement();
    }

    // 14 and 15 are StandardCAN_FD and ExtendedCAN_FD in the usual list; a file that lists its formats is taken at its word.
    private bool IsFdNumber(ulong format) =>
        format < (ulong)_frameFormats.Length ? IsFdName(_frameFormats[format]) : format is 14 or 15;

    private static bool IsFdName(string format) => format.EndsWith("_FD", StringComparison.Ordinal);

    private void ReadValueType(int line)
    {
        var signal = FindSignal(line);
        _scan.TryTake(':');
        var type = _scan.TakeWhole("the number type, 0, 1 or 2");
        _scan.Expect(';');
        if (signal is null) return;
        if (type > 2) throw _scan.Error($"signal {signal.Name}: number type is {type}; allowed are 0 (integer), 1 (single) and 2 (double).", line);
        if (type == 0) return;
        var wanted = type == 1 ? 32 : 64;
        if (signal.LengthBits != wanted)
            throw _scan.Error($"signal {signal.Name} is {signal.LengthBits} bits long; as an IEEE number of type {type} it must have {wanted}.", line);
        signal.Number = type == 1 ? SignalNumber.Single : SignalNumber.Double;
    }

    private void ReadPages(int line)
    {
        var id = _scan.TakeWhole("the message's identifier");
        var name = _scan.TakeWord("the signal's name");
        var switchName = _scan.TakeWord("the switch's name");
        var ranges = ImmutableArray.CreateBuilder<PageRange>();
        do
        {
            var first = _scan.TakeWhole("the first page");
            _scan.Expect('-');
            var last = _scan.TakeWhole("the last page");
            if (last < first) throw _scan.Error($"signal {name}: the pages {first}-{last} run backwards.", line);
            ranges.Add(new(first, last));
        }
        while (_scan.TryTake(','));
        _scan.Expect(';');

        if (Find(id, name, line) is not { } signal) return;
        var above = Find(id, switchName, line)!;
        if (!above.IsSwitch) throw _scan.Error($"signal {name} names {switchName} as its switch, which is not marked M.", line);
        for (var upper = above; upper is not null; upper = upper.Switch)
            if (upper == signal) throw _scan.Error($"signal {name} and switch {switchName} depend on each other.", line);
        signal.Switch = above;
        signal.Pages = ranges.ToImmutable();
    }

    private CanSignal? FindSignal(int line)
    {
        var id = _scan.TakeWhole("the message's identifier");
        return Find(id, _scan.TakeWord("the signal's name"), line);
    }

    private CanSignal? Find(ulong id, string name, int line)
    {
        if (id == LooseSignals || _leftOut.ContainsKey(id)) return null;
        if (!_messages.TryGetValue(id, out var message)) throw _scan.Error($"{_scan.Inside} names message {id}, which is not described above.", line);
        return message.Signals.Find(s => string.Equals(s.Name, name, StringComparison.Ordinal))
            ?? throw _scan.Error($"{_scan.Inside} names signal {name}, which message {message.Name} does not have.", line);
    }

    /// <summary>A message while its file is still being read.</summary>
    private sealed class DraftMessage(string name, uint id, bool isExtended, int length, int line)
    {
        public string Name => name;

        public int Length => length;

        public int Line => line;

        public bool IsFd { get; set; }

        public List<CanSignal> Signals { get; } = [];

        /// <summary>Page by signal index, from the plain multiplex marks.</summary>
        public Dictionary<int, ulong> Pages { get; } = [];

        public CanMessage Finish(DbcScanner scan, List<DatabaseWarning> warnings)
        {
            foreach (var (index, page) in Pages)
            {
                var signal = Signals[index];
                if (signal.Switch is not null) continue;
                signal.Switch = RootSwitch(signal, scan);
                signal.Pages = [new(page, page)];
            }

            if (length > 8 && !IsFd) warnings.Add(new(line, $"message {name} has {length} bytes and is not marked as CAN FD; it is taken as CAN FD."));
            foreach (var (a, b) in Overlaps())
                warnings.Add(new(b.Line, $"signals {a.Name} and {b.Name} of message {name} share bits."));
            return new CanMessage(name, id, isExtended, length, IsFd, line, [.. Signals]);
        }

        private CanSignal RootSwitch(CanSignal signal, DbcScanner scan)
        {
            var roots = Signals.FindAll(s => s.IsSwitch && s != signal && !Pages.ContainsKey(s.Index));
            return roots.Count switch
            {
                1 => roots[0],
                0 => throw scan.Error($"signal {signal.Name} is multiplexed, but message {name} has no switch (M).", signal.Line),
                _ => throw scan.Error($"signal {signal.Name} is multiplexed and message {name} has {roots.Count} switches; SG_MUL_VAL_ must say which one is meant.", signal.Line),
            };
        }

        private IEnumerable<(CanSignal A, CanSignal B)> Overlaps()
        {
            for (var b = 1; b < Signals.Count; b++)
                for (var a = 0; a < b; a++)
                    if (ShareBits(Signals[a], Signals[b]) && !ExcludeEachOther(Signals[a], Signals[b])) yield return (Signals[a], Signals[b]);
        }

        private bool ShareBits(CanSignal a, CanSignal b)
        {
            Span<byte> one = stackalloc byte[CanFrame.MaxLength];
            one.Clear();
            SignalBits.Write(a, ulong.MaxValue, one);
            return SignalBits.Read(b, one) != 0;
        }

        /// <summary>Whether two signals can never be in the same frame: some switch above both stands on different pages.</summary>
        private static bool ExcludeEachOther(CanSignal a, CanSignal b)
        {
            for (var x = a; x?.Switch is not null; x = x.Switch)
                for (var y = b; y?.Switch is not null; y = y.Switch)
                    if (x.Switch == y.Switch && !x.Pages.Any(p => y.Pages.Any(q => p.First <= q.Last && q.First <= p.Last))) return true;
            return false;
        }
    }
}
