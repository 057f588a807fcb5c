using System.Text;
using CellWatch.Core.Engine;
using CellWatch.Core.Live;

namespace CellWatch.Core.Rules;

/// <summary>
/// Fills the {placeholders} of a rule's sentences with figures:
/// <code>
/// {place} {value} {limit} {mv} {limitMv} {held}       the place, value and limit judged; for how long it holds
/// {other}                                             the module a module exchanged its readings with
/// {cell} {cellV} {overTarget} {current} {widest}      the highest cell, the current, the widest cells
/// {age} {unseen} {disbelieved} {presenceMinutes}      what is missing, since when
/// {cutOff} {cutOffIfCharging} {stopIfCharging} {turnDown} {level}   what to do
/// </code>
/// </summary>
internal sealed class AlarmWording(Facts facts, Places places, Measures measures)
{
    /// <summary>Message of an alarm that is present.</summary>
    public string Message(Rule rule, int place, double? value, double heldS) => Fill(rule.Message, rule, place, value, heldS);

    /// <summary>What to do first.</summary>
    public string DoFirst(Rule rule, int place) => Fill(rule.DoFirst, rule, place, null, 0);

    /// <summary>The hand cut-off as the first thing to do, where a charge may run; empty else.</summary>
    public string CutOffIfCharging => facts.MayBeCharging ? T($"Use your hand cut-off: {facts.Options.HandCutOff}. Do not pull the plug. Do not open the service plug under load. ") : "";

    /// <summary>The cell a rule about the pack points at; null where it points at none.</summary>
    public int? SubjectCell(Rule rule) => rule.Quantity switch
    {
        Quantity.AtTarget => facts.SteadyTopCell >= 0 ? facts.SteadyTopCell : null,
        Quantity.Spread or Quantity.SpreadCharge => WidestCell() is var cell && cell >= 0 ? cell : null,
        _ => null,
    };

    /// <summary>The cell farthest from the median; -1 where none is known.</summary>
    public int WidestCell() =>
        facts.HighestCell < 0 ? -1 : facts.HighestV - facts.MedianV > facts.MedianV - facts.LowestV ? facts.HighestCell : facts.LowestCell;

    private string Fill(string template, Rule rule, int place, double? value, double heldS)
    {
        if (!template.Contains('{', StringComparison.Ordinal)) return template;
        var text = new StringBuilder(template.Length + 40);
        for (var at = 0; at < template.Length;)
        {
            var open = template.IndexOf('{', at);
            if (open < 0)
            {
                text.Append(template, at, template.Length - at);
                break;
            }

            var close = template.IndexOf('}', open);
            text.Append(template, at, open - at).Append(Word(template[(open + 1)..close], rule, place, value, heldS));
            at = close + 1;
        }

        if (text.Length > 0) text[0] = char.ToUpperInvariant(text[0]);
        return text.ToString();
    }

    private string Word(string name, Rule rule, int place, double? value, double heldS)
    {
        var kind = Quantities.PlaceOf(rule.Quantity);
        var unit = Quantities.UnitOf(rule.Quantity);
        switch (name)
        {
            case "place": return places.NameOf(kind, place);
            case "value": return value is { } v ? Say.Value(v, unit) : T("not known");
            case "limit": return Say.Value(rule.Limit, unit);
            case "mv": return value is { } d ? Say.Millivolts(d) : T("not known");
            case "limitMv": return Say.Millivolts(rule.Limit);
            case "other": return facts.ExchangedWith[place] is >= 0 and var other ? places.NameOf(PlaceKind.Module, other) : T("another module");
            case "held": return Say.Span(Math.Max(heldS, rule.OnDelayS));
            case "cell": return facts.SteadyTopCell < 0 ? T("a cell") : facts.Map.NameOf(facts.SteadyTopCell);
            case "cellV": return facts.SteadyTopCell < 0 ? T("not known now") : Say.Volts(facts.SteadyTopV);
            case "overTarget": return OverTarget();
            case "current": return facts.CurrentKnown ? Say.Amperes(facts.CurrentA) : T("not known");
            case "widest": return Widest();
            case "age": return Say.Span(rule.Quantity == Quantity.CurrentUnknown ? facts.CurrentUnknownS : Math.Max(heldS, facts.InstrumentAgeS(place)));
            case "unseen": return Unseen(place);
            case "disbelieved": return Say.Count((int)measures.Values(Quantity.Disbelieved)[place], T("channel"), T("channels")) + T(" not believed");
            case "presenceMinutes": return Say.With(facts.Options.PresenceMinutes, "0", "min");
            case "cutOff": return facts.Options.HandCutOff;
            case "stopIfCharging": return facts.MayBeCharging ? T($"STOP THE CHARGE NOW: {facts.Options.HandCutOff}. ") : "";
            case "cutOffIfCharging": return CutOffIfCharging;
            case "turnDown": return facts.TurnDown;
            case "level": return Level();
            default: return "{" + name + "}";
        }
    }

    /// <summary>A cell that lies below all others is not helped by bleeding them: it may leak, or be bled by a switch that stays closed.</summary>
    private string Level() => WidestCell() is >= 0 and var cell && cell == facts.LowestCell
        ? T($"See why {facts.Map.NameOf(cell)} is low before the others are bled down to it: Night review names the test.")
        : T("Plan a balancing night.");

    private string OverTarget()
    {
        if (facts.Limits is not { } limits || facts.SteadyTopCell < 0) return T("at the charge target");
        var mv = Math.Round(1000 * (facts.SteadyTopV - limits.ChargeTargetV));
        return mv >= 1 ? T($"{Say.With(mv, "0", "mV")} over the charge target") : T("at the charge target");
    }

    private string Widest()
    {
        var cell = WidestCell();
        if (cell < 0) return T("no cell is known");
        var v = cell == facts.HighestCell ? facts.HighestV : facts.LowestV;
        return $"{facts.Map.NameOf(cell)} {Say.Millivolts(v - facts.MedianV)} {(v < facts.MedianV ? T("low") : T("high"))}";
    }

    private string Unseen(int instrument)
    {
        var (cells, sensors) = facts.UnseenOf(instrument);
        if (cells == 0) return Say.Count(sensors, T("temperature"), T("temperatures"));
        var text = Say.Count(cells, T("cell"), T("cells"));
        return sensors == 0 || cells > 1 ? text : T($"{text} and {Say.Count(sensors, T("temperature"), T("temperatures"))}");
    }
}
