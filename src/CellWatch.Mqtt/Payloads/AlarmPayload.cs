using CellWatch.Core.Live;
using CellWatch.Core.Rules;

namespace CellWatch.Mqtt;

public sealed partial class PayloadWriter
{
    /// <summary>
    /// An alarm after a step in its life, with the cell's voltage and the string's current at that moment, so that whoever reads
    /// only this message knows what was measured.
    /// </summary>
    /// <param name="number">Number of the message; never given twice, so a reader can discard one that comes again.</param>
    /// <param name="step">The step.</param>
    /// <param name="state">The pack when it happened.</param>
    public ReadOnlyMemory<byte> Alarm(long number, AlarmTransition step, PackState state)
    {
        BeginAlarm(number, step.WallUnixMs, step.Alarm, state);
        _json.WriteString("from", Words.Of(step.From));
        _json.WriteText("why", step.Why);
        WriteAlarm(step.Alarm, state);
        return End(state.Simulated);
    }

    /// <summary>
    /// An alarm that an earlier run of the program left with the broker and that nobody has seen go: its state is <c>notKnown</c>.
    /// </summary>
    /// <param name="alarm">What is left of it.</param>
    /// <param name="state">The pack now.</param>
    internal ReadOnlyMemory<byte> AlarmNotKnown(AlarmView alarm, PackState state)
    {
        BeginAlarm(null, state.Snapshot.Time.WallUnixMs, alarm, state, LeftOverAlarms.NotKnown);
        _json.WriteNull("from");
        _json.WriteString("why", "the program was started again");
        WriteAlarm(alarm, state, isKnown: false);
        return End(state.Simulated);
    }

    private void BeginAlarm(long? number, long timeUnixMs, AlarmView alarm, PackState state, string? word = null)
    {
        Name(state.Layout);
        Begin(state.Layout.SiteName, timeUnixMs);
        _json.WriteCount("number", number);
        _json.WriteString("id", alarm.Id);
        if (word is not null) _json.WriteString("state", word);
        else _json.WriteString("state", Words.Of(alarm.State));
    }

    private void WriteAlarm(AlarmView alarm, PackState state, bool isKnown = true)
    {
        _json.WriteString("rule", alarm.Rule);
        _json.WriteString("priority", Words.Of(alarm.Priority));
        _json.WriteString("word", alarm.Word);
        _json.WriteFlag("isActive", isKnown ? alarm.IsActive : null);
        _json.WriteString("place", alarm.Place);
        _json.WriteText("slot", alarm.Slot);
        _json.WriteText("module", alarm.Module is { } m ? state.Layout.Modules[m].Id.Text : null);
        _json.WriteFigure("value", alarm.Value, JsonWriting.VoltageDigits);
        _json.WriteFigure("limit", alarm.Limit, JsonWriting.VoltageDigits);
        _json.WriteText("unit", alarm.Unit);
        _json.WriteString("message", alarm.Message);
        _json.WriteString("doFirst", alarm.DoFirst);
        _json.WriteText("likelyCause", alarm.LikelyCause);
        _json.WriteTime("since", isKnown ? alarm.SinceUnixMs : null);
        _json.WriteTime("seen", alarm.SeenUnixMs);
        _json.WriteText("seenBy", alarm.SeenBy);
        _json.WriteTime("shelvedUntil", alarm.ShelvedUntilUnixMs);
        _json.WriteText("shelvedReason", alarm.ShelvedReason);
        _json.WriteNumber("grouped", alarm.Grouped);
        _json.WriteText("groupedUnder", alarm.GroupedUnder);
        _json.WriteNumber("count", alarm.Count);
        WriteMeasured(alarm.Cell, state);
    }

    /// <summary>The cell the alarm is about, or the highest where it is about none, and the current.</summary>
    private void WriteMeasured(int? alarmCell, PackState state)
    {
        var (snapshot, map) = (state.Snapshot, state.Snapshot.Map);
        var cell = alarmCell ?? state.Summary.HighestCell;
        var cellVoltageV = double.NaN;
        if (cell is { } c) snapshot.TryGet(c, out cellVoltageV);
        snapshot.TryGetPackCurrentA(out var packCurrentA);
        _json.WriteText("cell", CellName(cell));
        _json.WriteFigure("cellVoltageV", cellVoltageV, JsonWriting.VoltageDigits);
        _json.WriteFigure("packCurrentA", packCurrentA, JsonWriting.CurrentDigits);
        _json.WriteStartObject("quality");
        if (cell is { } q) _json.WriteString("cellVoltageV", Words.Of(snapshot.Quality[q]));
        else _json.WriteNull("cellVoltageV");
        _json.WriteString("packCurrentA", Words.Of(snapshot.Quality[map.PackCurrent]));
        _json.WriteEndObject();
    }
}
