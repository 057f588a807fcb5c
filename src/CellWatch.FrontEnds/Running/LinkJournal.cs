using System.Collections.Immutable;
using System.Text;
using CellWatch.Core.FrontEnds;
using CellWatch.Core.Snapshots;

namespace CellWatch.FrontEnds.Running;

/// <summary>
/// All that is known about one link, and the gate between decoder and inbox: readings pass only while the identity is the right one.
/// The runner's task writes, any thread may take a picture; no allocation while lines arrive.
/// </summary>
internal sealed class LinkJournal
{
    private const int RawLines = 50;
    private const int BadLines = 20;
    private const int LongestShown = 200;

    private readonly Lock _lock = new();
    private readonly TimeProvider _time;
    private readonly Func<long> _elapsedUs;
    private readonly ReadingInbox _inbox;
    private readonly LineRing _raw = new(RawLines, LongestShown);
    private readonly LineRing _bad = new(BadLines, LongestShown);
    private readonly RateWindow _framesWindow = new(10);
    private readonly RateWindow _badWindow = new(60);
    private readonly byte[] _identity = new byte[40];
    private readonly Isolation _configuredIsolation;
    private readonly double _silenceS;
    private long[] _garbage = [];
    private Func<byte, string> _words = _ => "";
    private byte[] _expected;
    private int _identityLength;
    private bool _isGateOpen;
    private bool _isOpen;
    private long _frames;
    private long _lost;
    private bool _hasSequence;
    private long _lastFrameUs = long.MinValue;
    private long _openedUs;
    private bool? _statedIsolation;
    private double? _bleedTimeoutS, _boardTemperatureDegC, _supplyV;
    private bool _statesSimulated;
    private int _losses, _attempt;
    private long? _nextAttemptUnixMs;
    private string _fault = "";
    private string _port = "";
    private ImmutableArray<string> _rawShown = [], _badShown = [];
    private long _rawShownCount, _badShownCount;
    private long? _rawShownUs;

    public LinkJournal(FrontEndContext context, ReadingInbox inbox, string expectedIdentity, Isolation configuredIsolation, double silenceS)
    {
        _time = context.Time;
        _elapsedUs = context.ElapsedUs;
        _inbox = inbox;
        _expected = Encoding.ASCII.GetBytes(expectedIdentity);
        _configuredIsolation = configuredIsolation;
        _silenceS = silenceS;
    }

    /// <summary>Whether frames of this session were taken.</summary>
    public bool HadFramesThisSession { get; private set; }

    /// <summary>Whether somebody else than the expected device answers.</summary>
    public bool IsOtherDevice { get; private set; }

    /// <summary>Whether an identity is expected, by configuration or because one was heard before.</summary>
    public bool ExpectsIdentity => _expected.Length > 0;

    public void Use(IWireDecoder decoder)
    {
        _garbage = new long[decoder.ReasonCount];
        _words = decoder.Words;
    }

    /// <summary>A session begins; nobody has said who is there yet.</summary>
    public void Opened(string port, IWireDecoder decoder)
    {
        // Until the board has said whether it is a model, nobody knows.
        _inbox.Declare(decoder.SaysOrigin ? Origin.Unknown : Origin.Measured);
        lock (_lock)
        {
            _port = port;
            _isOpen = true;
            _identityLength = 0;
            // A wire without identity cannot be asked; its readings pass and its channels stay unproven.
            _isGateOpen = !decoder.CarriesIdentity || !ExpectsIdentity;
            _statesSimulated = false;
            IsOtherDevice = false;
            HadFramesThisSession = false;
            _openedUs = _elapsedUs();
            _nextAttemptUnixMs = null;
            // A device that starts again counts anew.
            _statedIsolation = null;
        }
    }

    public void Trying(string port, int attempt)
    {
        lock (_lock)
        {
            _port = port;
            _attempt = attempt;
        }
    }

    public void Waiting(string fault, TimeSpan pause, bool isLoss)
    {
        lock (_lock)
        {
            _isOpen = false;
            _isGateOpen = false;
            _fault = fault;
            if (isLoss) _losses++;
            _nextAttemptUnixMs = (_time.GetUtcNow() + pause).ToUnixTimeMilliseconds();
        }
    }

    public void Closed()
    {
        lock (_lock)
        {
            _isOpen = false;
            _isGateOpen = false;
            _nextAttemptUnixMs = null;
        }
    }

    public void Note(string fault)
    {
        lock (_lock) _fault = fault;
    }

    /// <summary>Keeps a raw line for the diagnostics view, whatever it is worth.</summary>
    public void Raw(ReadOnlySpan<byte> line)
    {
        lock (_lock) _raw.Add(line, WallMs());
    }

    /// <summary>Counts a line that was thrown away.</summary>
    public void Bad(ReadOnlySpan<byte> line, byte reason)
    {
        lock (_lock)
        {
            _garbage[reason]++;
            _badWindow.Add(_elapsedUs());
            _bad.Add(line, WallMs(), reason);
        }
    }

    /// <summary>Counts input that is none of ours, say other traffic on the bus; it is no sign of a bad link.</summary>
    public void Ignored(byte reason)
    {
        lock (_lock) _garbage[reason]++;
    }

    /// <summary>Counts missing frames by a sequence counter.</summary>
    public void Sequence(long lost)
    {
        lock (_lock)
        {
            _hasSequence = true;
            _lost += lost;
        }
    }

    /// <summary>
    /// Somebody said who it is. The first identity ever heard is kept as the expected one where none is configured, so that a swap shows.
    /// </summary>
    /// <returns>Whether its readings may be taken.</returns>
    public bool Identify(ReadOnlySpan<byte> identity)
    {
        if (_isGateOpen && identity.SequenceEqual(_identity.AsSpan(0, _identityLength))) return true;
        lock (_lock)
        {
            if (identity.Length > _identity.Length) identity = identity[.._identity.Length];
            identity.CopyTo(_identity);
            _identityLength = identity.Length;
            if (!ExpectsIdentity) _expected = identity.ToArray();
            _isGateOpen = identity.SequenceEqual(_expected);
            IsOtherDevice = !_isGateOpen;
            if (_isGateOpen) return true;
            _fault = $"'{Encoding.ASCII.GetString(identity)}' answers on {_port}, expected was '{Encoding.ASCII.GetString(_expected)}'; its data are not taken.";
        }

        // What an exchanged device said before must not stand either.
        _inbox.Forget();
        return false;
    }

    /// <summary>A valid frame of the right device; its readings go to the inbox.</summary>
    public void Good(ReadOnlySpan<Reading> readings)
    {
        if (!_isGateOpen) return;
        var now = _elapsedUs();
        if (!readings.IsEmpty) _inbox.Post(readings, now);
        lock (_lock)
        {
            _frames++;
            _framesWindow.Add(now);
            _lastFrameUs = now;
            if (HadFramesThisSession) return;
            HadFramesThisSession = true;
            _fault = "";
            _attempt = 0;
        }
    }

    /// <summary>What the board says about itself; null where it does not.</summary>
    public void Board(double? temperatureDegC, double? supplyV, double? bleedTimeoutS, bool? isolated, bool isSimulated)
    {
        if (!_isGateOpen) return;
        _inbox.Declare(isSimulated ? Origin.Simulated : Origin.Measured);
        lock (_lock)
        {
            _boardTemperatureDegC = temperatureDegC;
            _supplyV = supplyV;
            _bleedTimeoutS = bleedTimeoutS;
            _statedIsolation = isolated;
            _statesSimulated = isSimulated;
        }
    }

    public FrontEndHealth Picture(string name, string wire, BoardChannels channels)
    {
        lock (_lock)
        {
            var now = _elapsedUs();
            return new FrontEndHealth
            {
                Name = name,
                Wire = wire,
                Port = _port,
                State = State(now),
                Fault = _fault,
                Identity = Encoding.ASCII.GetString(_identity.AsSpan(0, _identityLength)),
                ExpectedIdentity = Encoding.ASCII.GetString(_expected),
                Modules = channels.ModulesInWords,
                Channels = channels.All,
                LastFrameAgeS = _lastFrameUs == long.MinValue ? null : Math.Max(0, (now - _lastFrameUs) * 1e-6),
                FramesPerS = _framesWindow.Count(now) / 10.0,
                Frames = _frames,
                LostFrames = _hasSequence ? _lost : null,
                Garbage = [.. _garbage.Select((count, reason) => new GarbageCount(_words((byte)reason), count)).Where(g => g.Count > 0)],
                BadPerMinute = _badWindow.Count(now),
                LinkLosses = _losses,
                Attempt = _attempt,
                NextAttemptUnixMs = _nextAttemptUnixMs,
                Isolated = Isolated(),
                BleedTimeoutS = _bleedTimeoutS,
                BoardTemperatureDegC = _boardTemperatureDegC,
                SupplyV = _supplyV,
                Simulated = _statesSimulated || _inbox.Origin == Origin.Simulated,
                RecentRaw = RecentRaw(now),
                RecentBad = RecentBad(),
            };
        }
    }

    /// <summary>The last raw lines; made anew at most twice a second, because a picture may be taken with every scan.</summary>
    private ImmutableArray<string> RecentRaw(long now)
    {
        if (_raw.Count == _rawShownCount || _rawShownUs is { } shown && now - shown < 500_000) return _rawShown;
        (_rawShownCount, _rawShownUs) = (_raw.Count, now);
        return _rawShown = [.. _raw.Texts(null)];
    }

    private ImmutableArray<string> RecentBad()
    {
        if (_bad.Count == _badShownCount) return _badShown;
        _badShownCount = _bad.Count;
        return _badShown = [.. _bad.Texts(_words)];
    }

    private LinkState State(long now)
    {
        if (!_isOpen) return _nextAttemptUnixMs is null ? LinkState.Closed : LinkState.Waiting;
        if (IsOtherDevice) return LinkState.WrongIdentity;
        if (HadFramesThisSession && (now - _lastFrameUs) * 1e-6 <= _silenceS) return LinkState.Alive;
        return !HadFramesThisSession && (now - _openedUs) * 1e-6 <= _silenceS ? LinkState.Listening : LinkState.Silent;
    }

    /// <summary>The more cautious of what the site says and what the board says.</summary>
    private Isolation Isolated()
    {
        if (_configuredIsolation == Isolation.No || _statedIsolation == false) return Isolation.No;
        return _configuredIsolation == Isolation.Yes || _statedIsolation == true ? Isolation.Yes : Isolation.Unknown;
    }

    private long WallMs() => _time.GetUtcNow().ToUnixTimeMilliseconds();
}
