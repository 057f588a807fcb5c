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
    private static string CutOff => T("Use your hand cut-off: {cutOff}. Do not pull the plug. Do not open the service plug under load. This program does not protect the pack.");
    private static string Stop => T("STOP THE CHARGE NOW: {cutOff}. ");
    private static string Leave => T("Get everyone out, stay upwind, call the fire service. Do not open covers.");

    /// <summary>The table for a cell type; without one only the rules that need no limit of a cell.</summary>
    public static RuleTable For(CellLimits? limits) => new(limits is null ? WithoutCellType() : [.. WithoutCellType(), .. ForCells(limits)]);

    private static IEnumerable<Rule> WithoutCellType() =>
    [
        new()
        {
            Name = "smoke", Quantity = Quantity.Smoke, Limit = 1, Deadband = 0.5, OffDelayS = 60, Priority = AlarmPriority.High, Latching = true,
            Group = "fire", Action = RuleAction.WithdrawPermit, Message = T("LEAVE NOW. Smoke at {place}. ") + Leave, DoFirst = T("Leave. ") + Leave,
        },
        new()
        {
            Name = "no-data", Quantity = Quantity.Unseen, Limit = 1, Deadband = 1, OffDelayS = 0, Priority = AlarmPriority.Medium,
            PriorityWhileCharging = AlarmPriority.High, Group = "no-data", Action = RuleAction.WithdrawPermit, Word = "NO DATA",
            Message = T("{stopIfCharging}No data from {place} for {age}: {unseen} unseen."),
            DoFirst = T("{cutOffIfCharging}Check the lead of {place} at the computer. Until it is read again: no charge, no load."), LikelyCause = T("lead pulled, supply gone or wire broken"),
        },
        new()
        {
            Name = "current-turned", Quantity = Quantity.CurrentTurned, Limit = 1, Deadband = 0.5, Priority = AlarmPriority.Medium,
            PriorityWhileCharging = AlarmPriority.High, Latching = true, Group = "measurement", Action = RuleAction.WithdrawPermit,
            Message = T("{stopIfCharging}The current of {value} changed its sign from one reading to the next and no cell moved: the sensor counts the wrong way, and the current is not believed."),
            DoFirst = T("{cutOffIfCharging}Turn the sensor round, or turn its sign in the site file; then apply a known load."), LikelyCause = T("current sensor turned round, or its sign changed"),
        },
        new()
        {
            Name = "no-current", Quantity = Quantity.CurrentUnknown, Limit = 0.001, Deadband = 0.001, OnDelayS = 1, Priority = AlarmPriority.Medium,
            PriorityWhileCharging = AlarmPriority.High, SuppressedBy = "current-turned", Group = "no-data", Action = RuleAction.WithdrawPermit, Word = "NO DATA",
            Message = T("{stopIfCharging}The pack's current is not known for {age}."),
            DoFirst = T("{cutOffIfCharging}Check the current sensor and its lead. Until it is read again: no charge, no load."), LikelyCause = T("sensor or its lead"),
        },
        new()
        {
            Name = "presence-missed", Quantity = Quantity.PresenceOverdue, Limit = 0.001, Deadband = 0.001, Priority = AlarmPriority.High, Latching = true,
            Applies = Charge, Group = "presence", Action = RuleAction.WithdrawPermit,
            Message = T("Nobody has confirmed presence for {presenceMinutes}. A charge is not left alone."),
            DoFirst = T("Press I AM HERE at the charge, or end it: {cutOff}."),
        },
        new()
        {
            Name = "not-believed", Quantity = Quantity.Disbelieved, Limit = 1, Deadband = 1, OnDelayS = 2, OffDelayS = 5, Priority = AlarmPriority.Medium,
            Applies = Charge, Group = "measurement", Action = RuleAction.WithdrawPermit,
            Message = T("{place}: {disbelieved} while charging."), DoFirst = T("Bring the charge to an end and look at the sense leads of {place}."),
            LikelyCause = T("measurement, not the cell"),
        },
        new()
        {
            Name = "harness-exchanged", Quantity = Quantity.Exchanged, Limit = 1, Deadband = 0.5, Priority = AlarmPriority.Medium, Latching = true,
            Group = "measurement", Action = RuleAction.WithdrawPermit,
            Message = T("{place} and {other} exchanged their readings from one scan to the next: their harnesses changed places? Neither is proven any more."),
            DoFirst = T("Put the harnesses of {place} and {other} back, or play the channel proof on both; then reset this."), LikelyCause = T("harnesses or boards changed places"),
        },
        new()
        {
            Name = "sum-mismatch", Quantity = Quantity.SumMismatch, Limit = 0.3, Deadband = 0.1, OnDelayS = 10, OffDelayS = 10, Priority = AlarmPriority.Medium,
            Group = "measurement", Message = T("Sum of cells and pack voltage differ by {value} beyond what links and meter explain."),
            DoFirst = T("Compare one module with a hand meter."), LikelyCause = T("a channel or the pack meter is wrong"),
        },
        new()
        {
            Name = "noise-rose", Quantity = Quantity.NoiseRatio, Limit = 3, Deadband = 1, OnDelayS = 2, OffDelayS = 30, Priority = AlarmPriority.Low,
            Applies = Charge, Group = "noise", Message = T("Noise of {place} is {value} times what it was before the charger started: ground loop?"),
            DoFirst = T("Run the computer on its own battery, or use an isolated lead."), LikelyCause = T("ground loop through the computer's supply and the charger's earth"),
        },
        new()
        {
            Name = "current-reversed", Quantity = Quantity.ReversedSteps, Limit = 20, Deadband = 10, Priority = AlarmPriority.Medium, HoldsOutside = true,
            Group = "measurement", Action = RuleAction.WithdrawPermit,
            Message = T("Voltages rise when the current says discharge, {value} changes out of the last ones: the current sensor counts the wrong way."),
            DoFirst = T("Turn the sensor round, or turn its sign in the site file; then apply a known load."), LikelyCause = T("current sensor fitted the wrong way"),
        },
        new()
        {
            Name = "link-rise", Quantity = Quantity.LinkRise, Limit = 200, Deadband = 50, OnDelayS = 60, Priority = AlarmPriority.Low, HoldsOutside = true,
            Group = "links", Message = T("The links' total resistance rose by {value} since its first record."),
            DoFirst = T("At the next inspection re-torque and look for warm joints."), LikelyCause = T("a joint works loose"),
        },
    ];

    private static IEnumerable<Rule> ForCells(CellLimits l) =>
    [
        new()
        {
            Name = "heat-at-rest", Quantity = Quantity.RiseAtRest, Limit = 1.0, Deadband = 0.5, OnDelayS = 10, OffDelayS = 60, Priority = AlarmPriority.High, Latching = true,
            Applies = Rest, Group = "fire", Action = RuleAction.WithdrawPermit,
            Message = T("LEAVE NOW. {place} warming {value} with no current. ") + Leave, DoFirst = T("Leave. ") + Leave, LikelyCause = T("an exothermic cell"),
        },
        new()
        {
            Name = "cell-high-absolute", Quantity = Quantity.CellVoltage, Limit = l.HighAbsoluteV, Deadband = 0.020, OffDelayS = 5, Priority = AlarmPriority.High, Latching = true,
            Group = "over-charge", Action = RuleAction.WithdrawPermit, Message = Stop + T("{place} {value}, over the absolute limit {limit}."), DoFirst = CutOff,
            LikelyCause = T("the charge does not obey"),
        },
        new()
        {
            Name = "cell-high", Quantity = Quantity.CellVoltage, Limit = l.HighStopV, Deadband = 0.020, OnDelayS = 1, OffDelayS = 5, Priority = AlarmPriority.High, Latching = true,
            Applies = Charge, Group = "over-charge", Action = RuleAction.WithdrawPermit, Message = Stop + T("{place} {value}, over the limit for {held}."), DoFirst = CutOff,
            LikelyCause = T("the charge does not obey"),
        },
        new()
        {
            Name = "taper-missing", Quantity = Quantity.AtTarget, Limit = 10, Deadband = 10, OffDelayS = 5, Priority = AlarmPriority.High, Latching = true,
            Applies = Charge, Group = "over-charge", Action = RuleAction.WithdrawPermit,
            Message = Stop + T("{cell} {cellV}, {overTarget} for {value}, current still {current}."), DoFirst = CutOff, LikelyCause = T("the charge does not obey"),
        },
        new()
        {
            Name = "cell-high-warn", Quantity = Quantity.CellVoltage, Limit = l.HighWarnV, Deadband = 0.010, OnDelayS = 2, OffDelayS = 5, Priority = AlarmPriority.Medium,
            Applies = Charge, SuppressedBy = "cell-high", Group = "over-charge", Action = RuleAction.ReduceRequest,
            Message = T("{place} {value}, over the warning {limit}."), DoFirst = "{turnDown}",
        },
        new()
        {
            Name = "cell-low-load", Quantity = Quantity.CellVoltage, Comparison = Comparison.AtMost, Limit = l.LowLoadStopV, Deadband = 0.050, OnDelayS = 2, OffDelayS = 5,
            Priority = AlarmPriority.High, Latching = true, Applies = Load, Group = "over-discharge", Message = T("TAKE THE LOAD OFF NOW. {place} {value}, under the limit for {held}."),
            DoFirst = T("Take the load off. This program does not protect the pack."),
        },
        new()
        {
            Name = "cell-low-load-warn", Quantity = Quantity.CellVoltage, Comparison = Comparison.AtMost, Limit = l.LowLoadWarnV, Deadband = 0.050, OnDelayS = 2, OffDelayS = 5,
            Priority = AlarmPriority.Medium, Applies = Load, SuppressedBy = "cell-low-load", Group = "over-discharge", Message = T("{place} {value} under load, warning at {limit}."),
            DoFirst = T("Ease the load."),
        },
        new()
        {
            Name = "cell-low-rest", Quantity = Quantity.CellVoltage, Comparison = Comparison.AtMost, Limit = l.LowRestStopV, Deadband = 0.050, OnDelayS = 10, OffDelayS = 10,
            Priority = AlarmPriority.High, Latching = true, Applies = Rest, Group = "over-discharge", Message = T("{place} {value} at rest, under {limit}. Take no more out of the pack."),
            DoFirst = T("Switch every load off. Below 2.0 V a cell is not charged again: reject the module."),
        },
        new()
        {
            Name = "cell-low-rest-warn", Quantity = Quantity.CellVoltage, Comparison = Comparison.AtMost, Limit = l.LowRestWarnV, Deadband = 0.050, OnDelayS = 10, OffDelayS = 10,
            Priority = AlarmPriority.Medium, Applies = Rest, SuppressedBy = "cell-low-rest", Group = "over-discharge", Message = T("{place} {value} at rest, warning at {limit}."),
            DoFirst = T("Charge gently, soon."),
        },
        new()
        {
            Name = "charge-cold", Quantity = Quantity.Temperature, Comparison = Comparison.AtMost, Limit = l.ChargeColdStopDegC, Deadband = 2, OnDelayS = 5, OffDelayS = 30,
            Priority = AlarmPriority.High, Latching = true, Applies = Charge, Group = "cold", Action = RuleAction.WithdrawPermit,
            Message = Stop + T("{place} {value}: no charge below {limit}, lithium plates out."), DoFirst = CutOff,
        },
        new()
        {
            Name = "charge-cold-warn", Quantity = Quantity.Temperature, Comparison = Comparison.AtMost, Limit = l.ChargeColdWarnDegC, Deadband = 2, OnDelayS = 5, OffDelayS = 30,
            Priority = AlarmPriority.Medium, Applies = Charge, SuppressedBy = "charge-cold", Group = "cold", Action = RuleAction.ReduceRequest,
            Message = T("{place} {value} while charging, warning at {limit}."), DoFirst = T("Charge slowly, or warm the pack first."),
        },
        new()
        {
            Name = "charge-hot", Quantity = Quantity.Temperature, Limit = l.ChargeHotStopDegC, Deadband = 2, OnDelayS = 5, OffDelayS = 30,
            Priority = AlarmPriority.High, Latching = true, Applies = Charge, Group = "heat", Action = RuleAction.WithdrawPermit,
            Message = Stop + T("{place} {value}, over {limit} for {held}."), DoFirst = CutOff,
        },
        new()
        {
            Name = "charge-hot-warn", Quantity = Quantity.Temperature, Limit = l.ChargeHotWarnDegC, Deadband = 2, OnDelayS = 5, OffDelayS = 30,
            Priority = AlarmPriority.Medium, Applies = Charge, SuppressedBy = "charge-hot", Group = "heat", Action = RuleAction.ReduceRequest,
            Message = T("{place} {value} while charging, warning at {limit}."), DoFirst = "{turnDown}",
        },
        new()
        {
            Name = "hot", Quantity = Quantity.Temperature, Limit = l.DischargeHotStopDegC, Deadband = 2, OnDelayS = 5, OffDelayS = 30,
            Priority = AlarmPriority.High, Latching = true, Applies = NotCharging, Group = "heat", Action = RuleAction.WithdrawPermit,
            Message = T("TAKE THE LOAD OFF NOW. {place} {value}, over {limit} for {held}."), DoFirst = T("Take the load off, keep away, follow the temperature from a distance."),
        },
        new()
        {
            Name = "hot-warn", Quantity = Quantity.Temperature, Limit = l.DischargeHotWarnDegC, Deadband = 2, OnDelayS = 5, OffDelayS = 30,
            Priority = AlarmPriority.Medium, Applies = NotCharging, SuppressedBy = "hot", Group = "heat", Message = T("{place} {value}, warning at {limit}."), DoFirst = T("Ease the load."),
        },
        new()
        {
            Name = "heat-unexplained", Quantity = Quantity.HeatRatio, Limit = 4, Deadband = 1, OnDelayS = 60, OffDelayS = 60, Priority = AlarmPriority.High, Latching = true,
            Applies = AppliesWhen.Charging | Discharging, Group = "heat", Action = RuleAction.WithdrawPermit,
            Message = T("{stopIfCharging}{place} warms {value} times faster than its current can explain."),
            DoFirst = T("{cutOffIfCharging}Take the current off and keep away."), LikelyCause = T("loose joint beside the sensor, an exothermic cell, or a wrong reading"),
        },
        new()
        {
            Name = "heat-unexplained-warn", Quantity = Quantity.HeatRatio, Limit = 2, Deadband = 0.5, OnDelayS = 60, OffDelayS = 60, Priority = AlarmPriority.Medium,
            Applies = AppliesWhen.Charging | Discharging, SuppressedBy = "heat-unexplained", Group = "heat", Action = RuleAction.ReduceRequest,
            Message = T("{place} warms {value} times faster than its current can explain."), DoFirst = T("Ease the current and look at {place} with a thermal camera."),
            LikelyCause = T("loose joint beside the sensor, an exothermic cell, or a wrong reading"),
        },
        new()
        {
            Name = "temperature-spread", Quantity = Quantity.TemperatureSpread, Limit = l.TemperatureSpreadStopK, Deadband = 1, OnDelayS = 30, OffDelayS = 60,
            Priority = AlarmPriority.Medium, PriorityWhileCharging = AlarmPriority.High, Latching = true, Group = "heat", Action = RuleAction.WithdrawPermit,
            Message = T("{stopIfCharging}Temperatures in the pack differ by {value}, limit {limit}."), DoFirst = T("{cutOffIfCharging}Take the current off; find the hot or cold place."),
        },
        new()
        {
            Name = "temperature-spread-warn", Quantity = Quantity.TemperatureSpread, Limit = l.TemperatureSpreadWarnK, Deadband = 1, OnDelayS = 30, OffDelayS = 60,
            Priority = AlarmPriority.Medium, SuppressedBy = "temperature-spread", Group = "heat", Message = T("Temperatures in the pack differ by {value}, warning at {limit}."),
            DoFirst = T("Look for blocked cooling or a warm joint."),
        },
        new()
        {
            Name = "spread", Quantity = Quantity.Spread, Limit = l.SpreadStopV, Deadband = 0.005, OnDelayS = 60, OffDelayS = 60, Priority = AlarmPriority.Medium, Latching = true,
            Applies = Rest, Group = "spread", Action = RuleAction.WithdrawPermit, Message = T("Spread {mv} at rest, limit {limitMv}: {widest}."),
            DoFirst = T("Do not charge before the cells are level again or the reason is known."),
        },
        new()
        {
            Name = "spread-charge", Quantity = Quantity.SpreadCharge, Limit = 100 * l.SpreadStopCharge, Deadband = 0.3, OnDelayS = 60, OffDelayS = 60, Priority = AlarmPriority.Medium, Latching = true,
            Applies = Rest, Group = "spread", Action = RuleAction.WithdrawPermit, Message = T("Spread {value} of charge at rest, limit {limit}: {widest}."),
            DoFirst = T("Do not charge before the cells are level again or the reason is known."),
        },
        new()
        {
            Name = "spread-warn", Quantity = Quantity.Spread, Limit = l.SpreadWarnV, Deadband = 0.003, OnDelayS = 60, OffDelayS = 60, Priority = AlarmPriority.Medium,
            Applies = Rest, SuppressedBy = "spread", Group = "spread", Message = T("Spread {mv} at rest, warning at {limitMv}: {widest}."), DoFirst = "{level}",
        },
        new()
        {
            Name = "spread-charge-warn", Quantity = Quantity.SpreadCharge, Limit = 100 * l.SpreadWarnCharge, Deadband = 0.1, OnDelayS = 60, OffDelayS = 60, Priority = AlarmPriority.Medium,
            Applies = Rest, SuppressedBy = "spread-charge", Group = "spread", Message = T("Spread {value} of charge at rest, warning at {limit}: {widest}."),
            DoFirst = "{level}",
        },
        new()
        {
            Name = "data-age", Quantity = Quantity.DataAge, Limit = l.DataAgeStopS, Deadband = 1, OffDelayS = 2, Priority = AlarmPriority.High, Latching = true,
            Applies = Charge, Group = "no-data", Action = RuleAction.WithdrawPermit, Word = "NO DATA",
            Message = Stop + T("The oldest cell value is {value} old."), DoFirst = CutOff, LikelyCause = T("an instrument has slowed down or stopped"),
        },
        new()
        {
            Name = "data-age-warn", Quantity = Quantity.DataAge, Limit = l.DataAgeWarnS, Deadband = 0.5, OnDelayS = 1, OffDelayS = 5, Priority = AlarmPriority.Medium,
            Applies = Charge, SuppressedBy = "data-age", Group = "no-data", Message = T("The oldest cell value is {value} old, warning at {limit}."),
            DoFirst = T("Look at Instruments; be ready to end the charge."), LikelyCause = T("an instrument has slowed down"),
        },
        new()
        {
            Name = "current-over-temperature", Quantity = Quantity.CurrentOverTemperatureAllowance, Limit = 1, Deadband = 1, OnDelayS = 30, OffDelayS = 10, Priority = AlarmPriority.Medium,
            Applies = AppliesWhen.Charging, Group = "cold", Action = RuleAction.ReduceRequest, Message = T("The charge current is {value} above what the cells' temperature allows."), DoFirst = "{turnDown}",
        },
    ];
}
