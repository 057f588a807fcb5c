using CellWatch.Core.Pack;
using static CellWatch.Core.Rules.AppliesWhen;

namespace CellWatch.Core.Rules;

/// <summary>
/// The rules that come with the program. Every limit comes from the cell type's <see cref="CellLimits"/>, which hold the starting
/// limits; delays not stated there, deadbands and words are common practice, no source. No row is from a standard.
/// A spread beyond its second limit withdraws the permit but wakes nobody: at rest there is nothing to do at once.
/// </summary>
public static class StandardRules
{
    private const AppliesWhen Load = AppliesWhen.Discharging | Unknown;
    private const AppliesWhen Charge = AppliesWhen.Charging | Unknown;
    private const AppliesWhen NotCharging = Rest | Discharging;
    private const string CutOff = "Use your hand cut-off: {cutOff}. Do not pull the plug. Do not open the service plug under load. This program does not protect the pack.";
    private const string Stop = "STOP THE CHARGE NOW: {cutOff}. ";
    private const string Leave = "Get everyone out, stay upwind, call the fire service. Do not open covers.";

    /// <summary>The table for a cell type; without one only the rules that need no limit of a cell.</summary>
    public static RuleTable For(CellLimits? limits) => new(limits is null ? WithoutCellType() : [.. WithoutCellType(), .. ForCells(limits)]);

    private static IEnumerable<Rule> WithoutCellType() =>
    [
        new()
        {
            Name = "smoke", Quantity = Quantity.Smoke, Limit = 1, Deadband = 0.5, OffDelayS = 60, Priority = AlarmPriority.High, Latching = true,
            Group = "fire", Action = RuleAction.WithdrawPermit, Message = "LEAVE NOW. Smoke at {place}. " + Leave, DoFirst = "Leave. " + Leave,
        },
        new()
        {
            Name = "no-data", Quantity = Quantity.Unseen, Limit = 1, Deadband = 1, OffDelayS = 0, Priority = AlarmPriority.Medium,
            PriorityWhileCharging = AlarmPriority.High, Group = "no-data", Action = RuleAction.WithdrawPermit, Word = "NO DATA",
            Message = "{stopIfCharging}No data from {place} for {age}: {unseen} unseen.",
            DoFirst = "{cutOffIfCharging}Check the lead of {place} at the computer; do not charge.", LikelyCause = "lead pulled, supply gone or wire broken",
        },
        new()
        {
            Name = "current-turned", Quantity = Quantity.CurrentTurned, Limit = 1, Deadband = 0.5, Priority = AlarmPriority.Medium,
            PriorityWhileCharging = AlarmPriority.High, Latching = true, Group = "measurement", Action = RuleAction.WithdrawPermit,
            Message = "{stopIfCharging}The current of {value} changed its sign from one reading to the next and no cell moved: the sensor counts the wrong way, and the current is not believed.",
            DoFirst = "{cutOffIfCharging}Turn the sensor round, or turn its sign in the site file; then apply a known load.", LikelyCause = "current sensor turned round, or its sign changed",
        },
        new()
        {
            Name = "no-current", Quantity = Quantity.CurrentUnknown, Limit = 0.001, Deadband = 0.001, OnDelayS = 1, Priority = AlarmPriority.Medium,
            PriorityWhileCharging = AlarmPriority.High, SuppressedBy = "current-turned", Group = "no-data", Action = RuleAction.WithdrawPermit, Word = "NO DATA",
            Message = "{stopIfCharging}The pack's current is not known for {age}.",
            DoFirst = "{cutOffIfCharging}Check the current sensor and its lead; do not charge.", LikelyCause = "sensor or its lead",
        },
        new()
        {
            Name = "presence-missed", Quantity = Quantity.PresenceOverdue, Limit = 0.001, Deadband = 0.001, Priority = AlarmPriority.High, Latching = true,
            Applies = Charge, Group = "presence", Action = RuleAction.WithdrawPermit,
            Message = "Nobody has confirmed presence for {presenceMinutes}. A charge is not left alone.",
            DoFirst = "Press I AM HERE at the charge, or end it: {cutOff}.",
        },
        new()
        {
            Name = "not-believed", Quantity = Quantity.Disbelieved, Limit = 1, Deadband = 1, OnDelayS = 2, OffDelayS = 5, Priority = AlarmPriority.Medium,
            Applies = Charge, Group = "measurement", Action = RuleAction.WithdrawPermit,
            Message = "{place}: {disbelieved} while charging.", DoFirst = "Bring the charge to an end and look at the sense leads of {place}.",
            LikelyCause = "measurement, not the cell",
        },
        new()
        {
            Name = "harness-exchanged", Quantity = Quantity.Exchanged, Limit = 1, Deadband = 0.5, Priority = AlarmPriority.Medium, Latching = true,
            Group = "measurement", Action = RuleAction.WithdrawPermit,
            Message = "{place} and {other} exchanged their readings from one scan to the next: their harnesses changed places? Neither is proven any more.",
            DoFirst = "Put the harnesses of {place} and {other} back, or play the channel proof on both; then reset this.", LikelyCause = "harnesses or boards changed places",
        },
        new()
        {
            Name = "sum-mismatch", Quantity = Quantity.SumMismatch, Limit = 0.3, Deadband = 0.1, OnDelayS = 10, OffDelayS = 10, Priority = AlarmPriority.Medium,
            Group = "measurement", Message = "Sum of cells and pack voltage differ by {value} beyond what links and meter explain.",
            DoFirst = "Compare one module with a hand meter.", LikelyCause = "a channel or the pack meter is wrong",
        },
        new()
        {
            Name = "noise-rose", Quantity = Quantity.NoiseRatio, Limit = 3, Deadband = 1, OnDelayS = 2, OffDelayS = 30, Priority = AlarmPriority.Low,
            Applies = Charge, Group = "noise", Message = "Noise of {place} is {value} times what it was before the charger started: ground loop?",
            DoFirst = "Run the computer on its own battery, or use an isolated lead.", LikelyCause = "ground loop through the computer's supply and the charger's earth",
        },
        new()
        {
            Name = "current-reversed", Quantity = Quantity.ReversedSteps, Limit = 20, Deadband = 10, Priority = AlarmPriority.Medium, HoldsOutside = true,
            Group = "measurement", Action = RuleAction.WithdrawPermit,
            Message = "Voltages rise when the current says discharge, {value} changes out of the last ones: the current sensor counts the wrong way.",
            DoFirst = "Turn the sensor round, or turn its sign in the site file; then apply a known load.", LikelyCause = "current sensor fitted the wrong way",
        },
        new()
        {
            Name = "link-rise", Quantity = Quantity.LinkRise, Limit = 200, Deadband = 50, OnDelayS = 60, Priority = AlarmPriority.Low, HoldsOutside = true,
            Group = "links", Message = "The links' total resistance rose by {value} since its first record.",
            DoFirst = "At the next inspection re-torque and look for warm joints.", LikelyCause = "a joint works loose",
        },
    ];

    private static IEnumerable<Rule> ForCells(CellLimits l) =>
    [
        new()
        {
            Name = "heat-at-rest", Quantity = Quantity.RiseAtRest, Limit = 1.0, Deadband = 0.5, OnDelayS = 10, OffDelayS = 60, Priority = AlarmPriority.High, Latching = true,
            Applies = Rest, Group = "fire", Action = RuleAction.WithdrawPermit,
            Message = "LEAVE NOW. {place} warming {value} with no current. " + Leave, DoFirst = "Leave. " + Leave, LikelyCause = "an exothermic cell",
        },
        new()
        {
            Name = "cell-high-absolute", Quantity = Quantity.CellVoltage, Limit = l.HighAbsoluteV, Deadband = 0.020, OffDelayS = 5, Priority = AlarmPriority.High, Latching = true,
            Group = "over-charge", Action = RuleAction.WithdrawPermit, Message = Stop + "{place} {value}, over the absolute limit {limit}.", DoFirst = CutOff,
            LikelyCause = "the charge does not obey",
        },
        new()
        {
            Name = "cell-high", Quantity = Quantity.CellVoltage, Limit = l.HighStopV, Deadband = 0.020, OnDelayS = 1, OffDelayS = 5, Priority = AlarmPriority.High, Latching = true,
            Applies = Charge, Group = "over-charge", Action = RuleAction.WithdrawPermit, Message = Stop + "{place} {value}, over the limit for {held}.", DoFirst = CutOff,
            LikelyCause = "the charge does not obey",
        },
        new()
        {
            Name = "taper-missing", Quantity = Quantity.AtTarget, Limit = 10, Deadband = 10, OffDelayS = 5, Priority = AlarmPriority.High, Latching = true,
            Applies = Charge, Group = "over-charge", Action = RuleAction.WithdrawPermit,
            Message = Stop + "{cell} {cellV}, {overTarget} for {value}, current still {current}.", DoFirst = CutOff, LikelyCause = "the charge does not obey",
        },
        new()
        {
            Name = "cell-high-warn", Quantity = Quantity.CellVoltage, Limit = l.HighWarnV, Deadband = 0.010, OnDelayS = 2, OffDelayS = 5, Priority = AlarmPriority.Medium,
            Applies = Charge, SuppressedBy = "cell-high", Group = "over-charge", Action = RuleAction.ReduceRequest,
            Message = "{place} {value}, over the warning {limit}.", DoFirst = "{turnDown}",
        },
        new()
        {
            Name = "cell-low-load", Quantity = Quantity.CellVoltage, Comparison = Comparison.AtMost, Limit = l.LowLoadStopV, Deadband = 0.050, OnDelayS = 2, OffDelayS = 5,
            Priority = AlarmPriority.High, Latching = true, Applies = Load, Group = "over-discharge", Message = "TAKE THE LOAD OFF NOW. {place} {value}, under the limit for {held}.",
            DoFirst = "Take the load off. This program does not protect the pack.",
        },
        new()
        {
            Name = "cell-low-load-warn", Quantity = Quantity.CellVoltage, Comparison = Comparison.AtMost, Limit = l.LowLoadWarnV, Deadband = 0.050, OnDelayS = 2, OffDelayS = 5,
            Priority = AlarmPriority.Medium, Applies = Load, SuppressedBy = "cell-low-load", Group = "over-discharge", Message = "{place} {value} under load, warning at {limit}.",
            DoFirst = "Ease the load.",
        },
        new()
        {
            Name = "cell-low-rest", Quantity = Quantity.CellVoltage, Comparison = Comparison.AtMost, Limit = l.LowRestStopV, Deadband = 0.050, OnDelayS = 10, OffDelayS = 10,
            Priority = AlarmPriority.High, Latching = true, Applies = Rest, Group = "over-discharge", Message = "{place} {value} at rest, under {limit}. Take no more out of the pack.",
            DoFirst = "Switch every load off. Below 2.0 V a cell is not charged again: reject the module.",
        },
        new()
        {
            Name = "cell-low-rest-warn", Quantity = Quantity.CellVoltage, Comparison = Comparison.AtMost, Limit = l.LowRestWarnV, Deadband = 0.050, OnDelayS = 10, OffDelayS = 10,
            Priority = AlarmPriority.Medium, Applies = Rest, SuppressedBy = "cell-low-rest", Group = "over-discharge", Message = "{place} {value} at rest, warning at {limit}.",
            DoFirst = "Charge gently, soon.",
        },
        new()
        {
            Name = "charge-cold", Quantity = Quantity.Temperature, Comparison = Comparison.AtMost, Limit = l.ChargeColdStopDegC, Deadband = 2, OnDelayS = 5, OffDelayS = 30,
            Priority = AlarmPriority.High, Latching = true, Applies = Charge, Group = "cold", Action = RuleAction.WithdrawPermit,
            Message = Stop + "{place} {value}: no charge below {limit}, lithium plates out.", DoFirst = CutOff,
        },
        new()
        {
            Name = "charge-cold-warn", Quantity = Quantity.Temperature, Comparison = Comparison.AtMost, Limit = l.ChargeColdWarnDegC, Deadband = 2, OnDelayS = 5, OffDelayS = 30,
            Priority = AlarmPriority.Medium, Applies = Charge, SuppressedBy = "charge-cold", Group = "cold", Action = RuleAction.ReduceRequest,
            Message = "{place} {value} while charging, warning at {limit}.", DoFirst = "Charge slowly, or warm the pack first.",
        },
        new()
        {
            Name = "charge-hot", Quantity = Quantity.Temperature, Limit = l.ChargeHotStopDegC, Deadband = 2, OnDelayS = 5, OffDelayS = 30,
            Priority = AlarmPriority.High, Latching = true, Applies = Charge, Group = "heat", Action = RuleAction.WithdrawPermit,
            Message = Stop + "{place} {value}, over {limit} for {held}.", DoFirst = CutOff,
        },
        new()
        {
            Name = "charge-hot-warn", Quantity = Quantity.Temperature, Limit = l.ChargeHotWarnDegC, Deadband = 2, OnDelayS = 5, OffDelayS = 30,
            Priority = AlarmPriority.Medium, Applies = Charge, SuppressedBy = "charge-hot", Group = "heat", Action = RuleAction.ReduceRequest,
            Message = "{place} {value} while charging, warning at {limit}.", DoFirst = "{turnDown}",
        },
        new()
        {
            Name = "hot", Quantity = Quantity.Temperature, Limit = l.DischargeHotStopDegC, Deadband = 2, OnDelayS = 5, OffDelayS = 30,
            Priority = AlarmPriority.High, Latching = true, Applies = NotCharging, Group = "heat", Action = RuleAction.WithdrawPermit,
            Message = "TAKE THE LOAD OFF NOW. {place} {value}, over {limit} for {held}.", DoFirst = "Take the load off, keep away, follow the temperature from a distance.",
        },
        new()
        {
            Name = "hot-warn", Quantity = Quantity.Temperature, Limit = l.DischargeHotWarnDegC, Deadband = 2, OnDelayS = 5, OffDelayS = 30,
            Priority = AlarmPriority.Medium, Applies = NotCharging, SuppressedBy = "hot", Group = "heat", Message = "{place} {value}, warning at {limit}.", DoFirst = "Ease the load.",
        },
        new()
        {
            Name = "heat-unexplained", Quantity = Quantity.HeatRatio, Limit = 4, Deadband = 1, OnDelayS = 60, OffDelayS = 60, Priority = AlarmPriority.High, Latching = true,
            Applies = AppliesWhen.Charging | Discharging, Group = "heat", Action = RuleAction.WithdrawPermit,
            Message = "{stopIfCharging}{place} warms {value} times faster than its current can explain.",
            DoFirst = "{cutOffIfCharging}Take the current off and keep away.", LikelyCause = "loose joint beside the sensor, an exothermic cell, or a wrong reading",
        },
        new()
        {
            Name = "heat-unexplained-warn", Quantity = Quantity.HeatRatio, Limit = 2, Deadband = 0.5, OnDelayS = 60, OffDelayS = 60, Priority = AlarmPriority.Medium,
            Applies = AppliesWhen.Charging | Discharging, SuppressedBy = "heat-unexplained", Group = "heat", Action = RuleAction.ReduceRequest,
            Message = "{place} warms {value} times faster than its current can explain.", DoFirst = "Ease the current and look at {place} with a thermal camera.",
            LikelyCause = "loose joint beside the sensor, an exothermic cell, or a wrong reading",
        },
        new()
        {
            Name = "temperature-spread", Quantity = Quantity.TemperatureSpread, Limit = l.TemperatureSpreadStopK, Deadband = 1, OnDelayS = 30, OffDelayS = 60,
            Priority = AlarmPriority.Medium, PriorityWhileCharging = AlarmPriority.High, Latching = true, Group = "heat", Action = RuleAction.WithdrawPermit,
            Message = "{stopIfCharging}Temperatures in the pack differ by {value}, limit {limit}.", DoFirst = "{cutOffIfCharging}Take the current off; find the hot or cold place.",
        },
        new()
        {
            Name = "temperature-spread-warn", Quantity = Quantity.TemperatureSpread, Limit = l.TemperatureSpreadWarnK, Deadband = 1, OnDelayS = 30, OffDelayS = 60,
            Priority = AlarmPriority.Medium, SuppressedBy = "temperature-spread", Group = "heat", Message = "Temperatures in the pack differ by {value}, warning at {limit}.",
            DoFirst = "Look for blocked cooling or a warm joint.",
        },
        new()
        {
            Name = "spread", Quantity = Quantity.Spread, Limit = l.SpreadStopV, Deadband = 0.005, OnDelayS = 60, OffDelayS = 60, Priority = AlarmPriority.Medium, Latching = true,
            Applies = Rest, Group = "spread", Action = RuleAction.WithdrawPermit, Message = "Spread {mv} at rest, limit {limitMv}: {widest}.",
            DoFirst = "Do not charge before the cells are level again or the reason is known.",
        },
        new()
        {
            Name = "spread-charge", Quantity = Quantity.SpreadCharge, Limit = 100 * l.SpreadStopCharge, Deadband = 0.3, OnDelayS = 60, OffDelayS = 60, Priority = AlarmPriority.Medium, Latching = true,
            Applies = Rest, Group = "spread", Action = RuleAction.WithdrawPermit, Message = "Spread {value} of charge at rest, limit {limit}: {widest}.",
            DoFirst = "Do not charge before the cells are level again or the reason is known.",
        },
        new()
        {
            Name = "spread-warn", Quantity = Quantity.Spread, Limit = l.SpreadWarnV, Deadband = 0.003, OnDelayS = 60, OffDelayS = 60, Priority = AlarmPriority.Medium,
            Applies = Rest, SuppressedBy = "spread", Group = "spread", Message = "Spread {mv} at rest, warning at {limitMv}: {widest}.", DoFirst = "Plan a balancing night.",
        },
        new()
        {
            Name = "spread-charge-warn", Quantity = Quantity.SpreadCharge, Limit = 100 * l.SpreadWarnCharge, Deadband = 0.1, OnDelayS = 60, OffDelayS = 60, Priority = AlarmPriority.Medium,
            Applies = Rest, SuppressedBy = "spread-charge", Group = "spread", Message = "Spread {value} of charge at rest, warning at {limit}: {widest}.",
            DoFirst = "Plan a balancing night.",
        },
        new()
        {
            Name = "data-age", Quantity = Quantity.DataAge, Limit = l.DataAgeStopS, Deadband = 1, OffDelayS = 2, Priority = AlarmPriority.High, Latching = true,
            Applies = Charge, Group = "no-data", Action = RuleAction.WithdrawPermit, Word = "NO DATA",
            Message = Stop + "The oldest cell value is {value} old.", DoFirst = CutOff, LikelyCause = "an instrument has slowed down or stopped",
        },
        new()
        {
            Name = "data-age-warn", Quantity = Quantity.DataAge, Limit = l.DataAgeWarnS, Deadband = 0.5, OnDelayS = 1, OffDelayS = 5, Priority = AlarmPriority.Medium,
            Applies = Charge, SuppressedBy = "data-age", Group = "no-data", Message = "The oldest cell value is {value} old, warning at {limit}.",
            DoFirst = "Look at Instruments; be ready to end the charge.", LikelyCause = "an instrument has slowed down",
        },
        new()
        {
            Name = "current-over-temperature", Quantity = Quantity.CurrentOverTemperatureAllowance, Limit = 1, Deadband = 1, OnDelayS = 30, OffDelayS = 10, Priority = AlarmPriority.Medium,
            Applies = AppliesWhen.Charging, Group = "cold", Action = RuleAction.ReduceRequest, Message = "The charge current is {value} above what the cells' temperature allows.", DoFirst = "{turnDown}",
        },
    ];
}
