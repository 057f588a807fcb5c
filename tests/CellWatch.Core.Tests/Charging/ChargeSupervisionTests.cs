using CellWatch.Core.Commands;
using CellWatch.Core.Engine;
using CellWatch.Core.Live;
using CellWatch.Core.Pack;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;
using CellWatch.Core.Tests.Engine;

namespace CellWatch.Core.Tests.Charging;

public sealed class ChargeSupervisionTests
{
    private static readonly CellType Site = CellType.Nmc420 with { Limits = new CellLimits { ChargeTargetV = 4.150, HighWarnV = 4.170 } };

    [Theory]
    [InlineData(60)]
    [InlineData(22)]
    public void A_good_charge_to_the_default_target_raises_nothing_and_its_end_is_foretold(double chargeA)
    {
        var bench = new PackBench(modules: 6, options: new EngineOptions { CapacityAh = 110, TerminationA = 2.2, PresenceMinutes = 240 });
        var model = new ModelPack(bench, 0.80, seed: 3);
        model.Run(60);
        model.TargetV = 4.10;
        model.ChargeA = chargeA;
        var foretoldMs = 0L;
        var halfWayS = double.NaN;
        model.Run(20_000, each: () =>
        {
            Assert.DoesNotContain(bench.State.Alarms, a => a.IsActive);
            if (model.CurrentA < chargeA / 4 && foretoldMs == 0 && bench.State.Charge!.TaperIsFitted) (foretoldMs, halfWayS) = (bench.State.Charge.EndUnixMs!.Value, bench.NowUs * 1e-6);
            return bench.State.Charge!.Phase != ChargePhase.Ended;
        });

        Assert.Empty(bench.Transitions);
        Assert.Equal(ChargePhase.Ended, bench.State.Charge!.Phase);
        Assert.NotEqual(0, foretoldMs);
        var remainingS = bench.NowUs * 1e-6 - halfWayS;
        Assert.InRange((foretoldMs - PackBench.StartUnixMs) / 1000.0 - halfWayS, 0.75 * remainingS, 1.25 * remainingS);
    }

    /// <summary>Story 12, in the words of the page design.</summary>
    [Fact]
    public void A_current_that_does_not_fall_at_the_target_is_a_stop_after_ten_seconds_with_cell_voltage_and_current()
    {
        var bench = new PackBench(type: Site) { Ohm = 0.0001 };
        bench.AllCells(4.13);
        bench.CellV[bench.Cell("B11.2")] = 4.156;
        bench.Run(10);
        bench.CurrentA = 60;
        // Two seconds until the current is believed to be a charge.
        bench.Run(12);
        Assert.NotEqual(StateWord.ActNow, bench.State.Verdict.State);
        bench.Run(2);

        Assert.Equal(StateWord.ActNow, bench.State.Verdict.State);
        var alarm = bench.State.Alarms[0];
        Assert.Equal(("taper-missing", AlarmPriority.High, bench.Cell("B11.2")), (alarm.Rule, alarm.Priority, alarm.Cell!.Value));
        var raised = bench.Transitions.First(t => t.Id == "taper-missing.pack" && t.To == AlarmState.Unacknowledged);
        Assert.Equal("STOP THE CHARGE NOW: red button on the station. B11.2 4.162 V, 12 mV over the charge target for 10 s, current still 60 A.", PackBench.Plain(raised.Alarm.Message));
        Assert.Contains("Do not pull the plug. Do not open the service plug under load.", alarm.DoFirst, StringComparison.Ordinal);
        Assert.Equal(ChargePhase.TaperMissing, bench.State.Charge!.Phase);
    }

    [Theory]
    [InlineData(335)]
    [InlineData(1000)]
    public void A_taper_as_slow_as_the_measured_ones_is_not_missing(double timeConstantS)
    {
        var bench = new PackBench(type: Site);
        bench.CurrentA = 60;
        bench.AllCells(4.13);
        bench.Run(30);
        bench.CellV[bench.Cell("B11.2")] = 4.150;
        var began = bench.NowUs * 1e-6;
        bench.Run(3 * timeConstantS, each: t => bench.CurrentA = 60 * Math.Exp(-(t - began) / timeConstantS));
        Assert.DoesNotContain(bench.Transitions, t => t.Alarm.Rule == "taper-missing");
        Assert.Equal(timeConstantS, bench.State.Charge!.TaperTimeConstantS!.Value, 0.03 * timeConstantS);
    }

    [Fact]
    public void A_charger_that_steps_its_current_coarsely_is_given_a_minute()
    {
        var bench = new PackBench(type: Site);
        bench.CurrentA = 12;
        bench.AllCells(4.13);
        bench.Run(30);
        bench.CellV[bench.Cell("B11.2")] = 4.1495;
        bench.Run(9);
        var began = bench.NowUs * 1e-6;
        bench.CellV[bench.Cell("B11.2")] = 4.150;
        bench.Run(600, each: t => bench.CurrentA = Math.Round(2 * 12 * Math.Exp(-(t - began) / 335)) / 2);
        Assert.DoesNotContain(bench.Transitions, t => t.Alarm.Rule == "taper-missing");
    }

    /// <summary>The same charger at its next step, but it stays away: a minute is all it gets.</summary>
    [Fact]
    public void A_step_that_does_not_come_within_a_minute_is_missed()
    {
        var bench = new PackBench(type: Site);
        bench.CurrentA = 12;
        bench.AllCells(4.13);
        bench.Run(30);
        bench.CellV[bench.Cell("B11.2")] = 4.1515;
        bench.Run(5);
        bench.CurrentA = 11.5;
        bench.Run(55);
        Assert.DoesNotContain(bench.Transitions, t => t.Alarm.Rule == "taper-missing");
        bench.Run(20);
        Assert.Contains(bench.Transitions, t => t.Alarm.Rule == "taper-missing");
    }

    [Fact]
    public void A_cell_over_its_limit_for_a_second_is_a_stop_in_the_words_of_the_page()
    {
        var bench = new PackBench(type: Site);
        bench.CurrentA = 60;
        bench.AllCells(4.13);
        bench.Run(10);
        bench.CellV[bench.Cell("B11.2")] = 4.203;
        bench.Run(2);
        Assert.Equal("STOP THE CHARGE NOW: red button on the station. B11.2 4.203 V, over the limit for 1 s.", PackBench.Plain(bench.State.Verdict.Sentence));
        Assert.Equal(StateWord.ActNow, bench.State.CellStates[bench.Cell("B11.2")]);
    }

    [Fact]
    public void The_absolute_limit_needs_one_valid_sample_in_any_state()
    {
        var bench = new PackBench(type: Site);
        bench.AllCells(4.18);
        bench.Run(10);
        bench.CellV[4] = 4.251;
        Assert.Equal("cell-high-absolute.B01.5", bench.Run(1).Alarms[0].Id);
    }

    [Fact]
    public void Heat_without_current_says_leave_now()
    {
        var bench = new PackBench();
        bench.Run(200);
        var sensor = bench.Layout.FirstTemperature(4);
        bench.Run(150, each: t => bench.TemperatureDegC[sensor] = 22 + 1.3 * (t - 200) / 60);
        Assert.Equal(StateWord.ActNow, bench.State.Verdict.State);
        Assert.Equal(
            "LEAVE NOW. B05 warming 1.3 K/min with no current. Get everyone out, stay upwind, call the fire service. Do not open covers.",
            PackBench.Plain(bench.State.Verdict.Sentence));
    }

    [Fact]
    public void Heat_that_spreads_to_the_sensors_after_a_hard_load_is_not_heat_without_current()
    {
        var bench = new PackBench { Ohm = 0.001 };
        bench.CurrentA = -300;
        var degC = 22.0;
        bench.Run(300, each: _ => bench.TemperatureDegC.AsSpan().Fill(degC += 2.2 / 60));
        bench.CurrentA = 0;
        bench.Run(120, each: t => bench.TemperatureDegC.AsSpan().Fill(degC += 1.5 / 60 * Math.Exp(-(t - 300) / 60)));
        Assert.DoesNotContain(bench.Transitions, t => t.Alarm.Rule == "heat-at-rest");
    }

    [Fact]
    public void One_jump_of_a_sensor_is_a_sensor_and_no_fire()
    {
        var bench = new PackBench();
        bench.Run(200);
        bench.TemperatureDegC[3] = 29;
        bench.Run(200);
        Assert.DoesNotContain(bench.Transitions, t => t.Alarm.Rule == "heat-at-rest");
    }

    /// <summary>the-job 0.5: 125 A through 6 mOhm warms 12.5 kg by 0.45 K/min at most; 4 times that for a minute is a stop.</summary>
    [Theory]
    [InlineData(0.4, null)]
    [InlineData(1.1, "heat-unexplained-warn")]
    [InlineData(2.2, "heat-unexplained")]
    public void A_module_that_warms_faster_than_its_current_can_explain_is_told(double riseKPerMin, string? rule)
    {
        var bench = new PackBench { Ohm = 0.001 };
        bench.AllCells(3.7);
        bench.CurrentA = 125;
        bench.Run(600);
        var sensor = bench.Layout.FirstTemperature(6);
        bench.Run(240, each: t => bench.TemperatureDegC[sensor] = 22 + riseKPerMin * (t - 600) / 60);
        var heat = bench.State.Charge!.Heat!;
        Assert.Equal((6, 0.45), (heat.Module, Math.Round(heat.ExplainedKPerMin, 2)));
        Assert.Equal(riseKPerMin, heat.RiseKPerMin, 0.05);
        Assert.Equal(rule, bench.State.Alarms.FirstOrDefault(a => a.Rule.StartsWith("heat", StringComparison.Ordinal))?.Rule);
    }

    [Fact]
    public void Smoke_says_leave_now()
    {
        var bench = new PackBench(auxiliaries: [new AuxiliaryChannel("smoke fore", AuxiliaryKind.Smoke)]);
        bench.Run(5);
        bench.Auxiliary[0] = 1;
        Assert.StartsWith("LEAVE NOW. Smoke at smoke fore.", bench.Run(1).Verdict.Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void No_charge_below_zero_degrees()
    {
        var bench = new PackBench();
        bench.CurrentA = 20;
        bench.TemperatureDegC.AsSpan().Fill(-2);
        bench.Run(20);
        Assert.Contains(bench.State.Alarms, a => a is { Rule: "charge-cold", IsActive: true });
        Assert.Equal(0, bench.State.Charge!.AllowedA!.Value, 9);
        Assert.StartsWith("Turn down to", bench.State.Charge.Advice, StringComparison.Ordinal);
    }

    /// <summary>Section 21: presence every 30 min.</summary>
    [Fact]
    public void Presence_must_be_confirmed_every_thirty_minutes_of_a_charge()
    {
        var bench = new PackBench { Ohm = 0.001 };
        bench.CurrentA = 20;
        bench.Run(1790, dtS: 2);
        Assert.DoesNotContain(bench.State.Alarms, a => a.Rule == "presence-missed");
        Assert.True(bench.Do(new ConfirmPresence("Ann")).Accepted);
        bench.Run(1790, dtS: 2);
        Assert.DoesNotContain(bench.State.Alarms, a => a.Rule == "presence-missed");
        bench.Run(20, dtS: 2);
        Assert.Equal("Nobody has confirmed presence for 30 min. A charge is not left alone.", PackBench.Plain(bench.State.Verdict.Sentence));
    }

    [Fact]
    public void A_permit_is_given_only_when_all_is_good_and_a_person_arms_it()
    {
        var bench = new PackBench();
        bench.Run(20);
        Assert.False(bench.State.Charge!.Permit);
        Assert.Equal("not armed by a person.", bench.State.Charge.PermitReason);
        Assert.True(bench.Do(new ArmPermit(true, "Ann")).Accepted);
        bench.CurrentA = 20;
        var charge = bench.Run(5).Charge!;
        Assert.True(charge.Permit);
        Assert.True(charge.RequestA > 0);
        Assert.Equal(108 * 4.10, charge.RequestV!.Value, 6);

        bench.Lose([17]);
        bench.Run(5);
        Assert.False(bench.State.Charge!.Permit);
        Assert.Equal(0, bench.State.Charge.RequestA);
        bench.Lost.Clear();
        bench.Run(60);
        Assert.False(bench.State.Charge!.Permit, "a permit that fell is armed anew by a person, never by itself");
    }

    [Theory]
    [InlineData(Origin.Simulated, true, "the data are simulated.")]
    [InlineData(Origin.Replayed, true, "B01.1 is not measured.")]
    [InlineData(Origin.Measured, false, "B01.1 is not proven.")]
    public void Simulated_replayed_or_unproven_data_never_get_a_permit(Origin origin, bool proven, string reason)
    {
        var bench = new PackBench { Origin = origin, Proven = proven };
        bench.Run(20);
        var answer = bench.Do(new ArmPermit(true, "Ann"));
        Assert.Equal((false, "Not armed: " + reason), (answer.Accepted, answer.Message));
        Assert.False(bench.Run(5).Charge!.Permit);
    }

    [Fact]
    public void An_unproven_channel_means_not_supervised()
    {
        var bench = new PackBench();
        bench.Fault = b => b.Proven[3] = b.Proven[4] = false;
        var charge = bench.Run(5).Charge!;
        Assert.Equal((false, "Not supervised: 2 channels not proven."), (charge.Supervised, charge.NotSupervisedBecause));
        Assert.False(charge.StopRules[0].Holds);
        Assert.Equal(StateWord.NotProven, bench.State.CellStates[3]);
    }
}
