using CellWatch.Core.FrontEnds;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;
using CellWatch.FrontEnds.LinuxCan;
using CellWatch.FrontEnds.Options;
using CellWatch.FrontEnds.PlainLines;
using CellWatch.FrontEnds.Running;
using CellWatch.FrontEnds.SerialCan;
using CellWatch.FrontEnds.SignalDatabase;
using CellWatch.FrontEnds.TextLines;
using CellWatch.FrontEnds.Transport;

namespace CellWatch.FrontEnds;

/// <summary>Options of a front end that cannot be used; each problem names field, value, what is allowed and the nearest valid name.</summary>
public sealed class FrontEndOptionsException : Exception
{
    /// <summary>Needed by convention; prefer the constructor with the problems.</summary>
    public FrontEndOptionsException() : this("The options of a front end are not valid.") { }

    /// <inheritdoc cref="FrontEndOptionsException()"/>
    public FrontEndOptionsException(string message) : base(message) { }

    /// <inheritdoc cref="FrontEndOptionsException()"/>
    public FrontEndOptionsException(string message, Exception inner) : base(message, inner) { }

    /// <param name="name">The front end's name.</param>
    /// <param name="problems">What is wrong.</param>
    public FrontEndOptionsException(string name, IReadOnlyList<OptionProblem> problems)
        : base($"front end '{name}': {string.Join(" ", problems)}") => Problems = problems;

    /// <summary>What is wrong.</summary>
    public IReadOnlyList<OptionProblem> Problems { get; } = [];
}

/// <summary>Makes front ends from their options.</summary>
public static class FrontEndFactory
{
    /// <summary>
    /// Checks the options against the pack, the signal database included. Empty when they can be used.
    /// </summary>
    /// <param name="options">The options.</param>
    /// <param name="map">The pack's channels.</param>
    /// <param name="baseFolder">Folder from which relative paths count.</param>
    public static IReadOnlyList<OptionProblem> Check(FrontEndOptions options, ChannelMap map, string baseFolder = "")
    {
        var problems = new List<OptionProblem>();
        Parts.Build(options, map, baseFolder, problems);
        return problems;
    }

    /// <summary>The channels a front end would provide; of valid options only.</summary>
    public static BoardChannels ChannelsOf(FrontEndOptions options, ChannelMap map)
    {
        var problems = new List<OptionProblem>();
        return OptionChecks.Channels(options, map, problems) ?? throw new FrontEndOptionsException(options.Name, problems);
    }

    /// <summary>Makes a front end.</summary>
    /// <param name="options">Its options.</param>
    /// <param name="map">The pack's channels.</param>
    /// <param name="inbox">Where its readings go.</param>
    /// <param name="context">Clock and log.</param>
    /// <param name="baseFolder">Folder from which relative paths count.</param>
    /// <param name="port">A port to use in place of the one named, say the pipe to an emulated board.</param>
    /// <param name="database">A signal database to use in place of the file named.</param>
    /// <exception cref="FrontEndOptionsException">The options are not valid.</exception>
    public static FrontEndRunner Create(FrontEndOptions options, ChannelMap map, ReadingInbox inbox, FrontEndContext context,
        string baseFolder = "", IBytePort? port = null, CanDatabase? database = null)
    {
        var problems = new List<OptionProblem>();
        var parts = Parts.Build(options, map, baseFolder, problems, database);
        if (parts is null || problems.Count > 0) throw new FrontEndOptionsException(options.Name, problems);

        var journal = new LinkJournal(context, inbox, options.Identity, options.Isolated, options.SilenceS);
        var decoder = parts.Decoder(options, journal, context);
        var ports = port is not null ? [port] : Ports(options);
        return new FrontEndRunner(options.Name, ports, decoder, journal, parts.Channels, context, TimeSpan.FromSeconds(options.SilenceS));
    }

    /// <summary>Only the decoder, its gate open: for measuring what a frame costs.</summary>
    internal static IWireDecoder DecoderFor(FrontEndOptions options, ChannelMap map, ReadingInbox inbox, FrontEndContext context,
        string baseFolder = "", CanDatabase? database = null)
    {
        var problems = new List<OptionProblem>();
        var parts = Parts.Build(options, map, baseFolder, problems, database);
        if (parts is null || problems.Count > 0) throw new FrontEndOptionsException(options.Name, problems);
        var journal = new LinkJournal(context, inbox, options.Identity, options.Isolated, options.SilenceS);
        var decoder = parts.Decoder(options, journal, context);
        journal.Opened(options.Port, decoder);
        return decoder;
    }

    /// <summary>The signal database of a CAN front end and what feeds which channel.</summary>
    internal static (CanDatabase Database, SignalMap Map) SignalsOf(FrontEndOptions options, ChannelMap map, string baseFolder)
    {
        var problems = new List<OptionProblem>();
        var parts = Parts.Build(options, map, baseFolder, problems);
        return parts is { Database: { } database, Map: { } signals } && problems.Count == 0 ? (database, signals) : throw new FrontEndOptionsException(options.Name, problems);
    }

    private static IEnumerable<IBytePort> Ports(FrontEndOptions options) => options.Wire == WireKind.LinuxCan
        ? [new CanBytePort(new CanRawPort(options.Port))]
        : options.OtherPorts.Prepend(options.Port).Select(path => new SerialDevicePort(path, options.Baud, options.Dtr, options.Rts));

    /// <summary>Everything that is worked out from the options before a port is touched.</summary>
    private sealed record Parts(BoardChannels Channels, PlainLayout? Plain, CanDatabase? Database, SignalMap? Map)
    {
        public static Parts? Build(FrontEndOptions options, ChannelMap map, string baseFolder, List<OptionProblem> problems, CanDatabase? database = null)
        {
            OptionChecks.Common(options, problems);
            if (OptionChecks.Channels(options, map, problems) is not { } channels) return null;
            switch (options.Wire)
            {
                case WireKind.TextLines: return new Parts(channels, null, null, null);
                case WireKind.PlainLines:
                    var plain = PlainLayout.Build(options.PlainLines, channels, options.InvertCurrent, problems);
                    if (plain is { HasIdentity: false } && options.Identity.Length > 0)
                        problems.Add(new("identity", options.Identity, "empty, or a run of quantity 'identity' in plainLines.runs: these lines do not say who sends them"));
                    return plain is null ? null : new Parts(channels with { All = [.. plain.Channels] }, plain, null, null);
                default: return BuildCan(options, channels, baseFolder, problems, database);
            }
        }

        private static Parts? BuildCan(FrontEndOptions options, BoardChannels channels, string baseFolder, List<OptionProblem> problems, CanDatabase? database)
        {
            if (options.Wire == WireKind.SerialCan && SerialCanDecoder.BitRateCode(options.SerialCan.BitRateKbit) < 0)
                problems.Add(new("serialCan.bitRateKbit", Text(options.SerialCan.BitRateKbit), "10, 20, 50, 100, 125, 250, 500, 800 or 1000"));
            if (options.Wire == WireKind.LinuxCan && options.Identity.Length > 0 && options.Signals.Identity.Length == 0)
                problems.Add(new("identity", options.Identity, "empty, or name the signal that carries it in signals.identity: a CAN interface has no serial of its own"));
            if (database is null && options.Database.Length == 0)
            {
                problems.Add(new("database", "", "the path of a DBC file"));
                return null;
            }

            try
            {
                database ??= CanDatabase.Load(Path.Combine(baseFolder, options.Database));
                var signals = options.Signals with { InvertCurrent = options.Signals.InvertCurrent != options.InvertCurrent };
                var map = SignalMap.Build(database, channels, signals, options.Auxiliaries, problems);
                return new Parts(channels with { All = [.. map.Channels.Order()] }, null, database, map);
            }
            catch (DatabaseException e)
            {
                problems.Add(new("database", options.Database, $"a signal database that can be read ({e.Message.TrimEnd('.')})"));
                return null;
            }
        }

        public IWireDecoder Decoder(FrontEndOptions options, LinkJournal journal, FrontEndContext context)
        {
            if (Plain is not null) return new PlainLineDecoder(Plain, journal);
            if (Database is null || Map is null) return new TextLineDecoder(Channels, journal, options.InvertCurrent);
            var hasIdentity = Map.HasBoardSignal(BoardSignal.Identity);
            var saysOrigin = Map.HasBoardSignal(BoardSignal.Simulated);
            return options.Wire == WireKind.SerialCan
                ? new SerialCanDecoder(options.SerialCan, new SignalFrameReader(Database, Map, Channels, journal, SerialCanDecoder.FirstFrameReason), journal,
                    context.Time, identityFromAdapter: !hasIdentity && options.Identity.Length > 0, hasIdentity, saysOrigin)
                : new SocketCanDecoder(new SignalFrameReader(Database, Map, Channels, journal, SocketCanDecoder.FirstFrameReason), journal, hasIdentity, saysOrigin);
        }

        private static string Text(int value) => value.ToString(System.Globalization.CultureInfo.InvariantCulture);
    }
}
