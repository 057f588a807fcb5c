using CellWatch.Core.FrontEnds;
using CellWatch.Core.Live;

namespace CellWatch.Mqtt;

/// <summary>Whether the program that publishes is there.</summary>
public enum Presence
{
    /// <summary>It is connected.</summary>
    Online,

    /// <summary>It was stopped by a person.</summary>
    Stopped,

    /// <summary>Its connection ended without a farewell: the broker says so in its place (the will).</summary>
    Lost,
}

public sealed partial class PayloadWriter
{
    /// <summary>How one front end is doing.</summary>
    public ReadOnlyMemory<byte> Instrument(FrontEndHealth health, PackState state)
    {
        Begin(state.Layout.SiteName, state.Snapshot.Time.WallUnixMs);
        _json.WriteString("name", health.Name);
        _json.WriteString("wire", health.Wire);
        _json.WriteString("port", health.Port);
        _json.WriteString("state", Words.Of(health.State));
        _json.WriteText("fault", health.Fault);
        _json.WriteText("identity", health.Identity);
        _json.WriteText("expectedIdentity", health.ExpectedIdentity);
        _json.WriteText("modules", health.Modules);
        _json.WriteString("isolated", Words.Of(health.Isolated));
        _json.WriteFigure("lastFrameAgeS", health.LastFrameAgeS, JsonWriting.TimeDigits);
        _json.WriteFigure("framesPerS", health.FramesPerS, 2);
        _json.WriteNumber("frames", health.Frames);
        _json.WriteCount("lostFrames", health.LostFrames);
        _json.WriteNumber("badPerMinute", health.BadPerMinute);
        _json.WriteStartArray("garbage");
        foreach (var garbage in health.Garbage)
        {
            _json.WriteStartObject();
            _json.WriteString("reason", garbage.Reason);
            _json.WriteNumber("count", garbage.Count);
            _json.WriteEndObject();
        }

        _json.WriteEndArray();
        _json.WriteNumber("linkLosses", health.LinkLosses);
        _json.WriteNumber("attempt", health.Attempt);
        _json.WriteTime("nextAttempt", health.NextAttemptUnixMs);
        _json.WriteFigure("boardTemperatureDegC", health.BoardTemperatureDegC, JsonWriting.TemperatureDigits);
        _json.WriteFigure("supplyVoltageV", health.SupplyV, JsonWriting.VoltageDigits);
        return End(health.Simulated);
    }

    /// <summary>
    /// The charge permit. It is false for a simulated pack whatever the rules say: a model of a pack must never close a real
    /// contactor. A receiver drops it by itself when no message has come for <c>validForS</c>.
    /// </summary>
    public ReadOnlyMemory<byte> Permit(PackState state, double validForS)
    {
        var charge = state.Charge;
        var permit = charge is { Permit: true } && !state.Simulated;
        Begin(state.Layout.SiteName, state.Snapshot.Time.WallUnixMs);
        _json.WriteNumber("sequence", state.Snapshot.Sequence);
        _json.WriteBoolean("permit", permit);
        _json.WriteText("reason", permit ? null : NoPermitBecause(state));
        _json.WriteFigure("validForS", validForS, JsonWriting.TimeDigits);
        _json.WriteFigure("requestVoltageV", permit ? charge!.RequestV : null, JsonWriting.VoltageDigits);
        _json.WriteFigure("requestCurrentA", permit ? charge!.RequestA : 0, JsonWriting.CurrentDigits);
        _json.WriteBoolean("supervised", permit && charge!.Supervised);
        return End(state.Simulated);
    }

    /// <summary>The permit when the program stops: none.</summary>
    public ReadOnlyMemory<byte> NoPermit(string site, long timeUnixMs, string reason, bool? simulated)
    {
        Begin(site, timeUnixMs);
        _json.WriteNull("sequence");
        _json.WriteBoolean("permit", value: false);
        _json.WriteString("reason", reason);
        _json.WriteNumber("validForS", 0);
        _json.WriteNull("requestVoltageV");
        _json.WriteNumber("requestCurrentA", 0);
        _json.WriteBoolean("supervised", value: false);
        return End(simulated);
    }

    /// <summary>A charge as a run, after it has entered another phase.</summary>
    /// <param name="number">Number of the message; never given twice.</param>
    /// <param name="runId">Identity of the run.</param>
    /// <param name="charge">The charge.</param>
    /// <param name="state">The pack when it happened.</param>
    public ReadOnlyMemory<byte> ChargeRun(long number, string runId, ChargeView charge, PackState state)
    {
        Name(state.Layout);
        Begin(state.Layout.SiteName, state.Snapshot.Time.WallUnixMs);
        _json.WriteNumber("number", number);
        _json.WriteString("run", runId);
        _json.WriteString("purpose", "charge");
        _json.WriteString("phase", Words.Of(charge.Phase));
        _json.WriteTime("began", charge.BeganUnixMs);
        _json.WriteFigure("targetVoltageV", charge.TargetV, JsonWriting.VoltageDigits);
        _json.WriteTime("targetReached", charge.TargetReachedUnixMs);
        _json.WriteText("targetReachedCell", CellName(charge.TargetReachedCell));
        _json.WriteFigure("plateauCurrentA", charge.PlateauA, JsonWriting.CurrentDigits);
        _json.WriteFigure("terminationCurrentA", charge.TerminationA, JsonWriting.CurrentDigits);
        _json.WriteFigure("packCurrentA", state.Summary.PackCurrentA, JsonWriting.CurrentDigits);
        _json.WriteString("quality", Words.Of(state.Snapshot.Quality[state.Snapshot.Map.PackCurrent]));
        _json.WriteFigure("chargedAh", charge.ChargedAh, 3);
        _json.WriteBoolean("supervised", charge.Supervised);
        _json.WriteText("notSupervisedBecause", charge.NotSupervisedBecause);
        return End(state.Simulated);
    }

    /// <summary>
    /// Whether the program is there. A will has no <c>time</c>: it is written when the connection is made, and the broker sends it
    /// when the connection has ended.
    /// </summary>
    /// <param name="site">The site's name.</param>
    /// <param name="presence">What is said.</param>
    /// <param name="timeUnixMs">Now; null in a will.</param>
    /// <param name="connectedUnixMs">When the connection was made.</param>
    /// <param name="simulated">Whether the pack is simulated; null before that is known.</param>
    public ReadOnlyMemory<byte> PresenceOf(string site, Presence presence, long? timeUnixMs, long connectedUnixMs, bool? simulated)
    {
        Begin(site, timeUnixMs);
        _json.WriteString("presence", Words.Of(presence));
        _json.WriteTime("connected", connectedUnixMs);
        return End(simulated);
    }

    private static string NoPermitBecause(PackState state) => state switch
    {
        { Simulated: true } => "simulated data never give a permit",
        { Charge: null } => "no cell type is chosen",
        { Charge.PermitReason.Length: > 0 } => state.Charge.PermitReason,
        _ => "not armed",
    };
}
