using System.Text.Json;
using CellWatch.Core.Bench;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.Estimation;
using CellWatch.Core.Planning;
using CellWatch.Core.Proofs;
using CellWatch.Core.Register;
using CellWatch.Host.Api;
using CellWatch.Host.Bench;
using CellWatch.Testing;

namespace CellWatch.EndToEnd.Tests.Bench;

/// <summary>Acceptance stories of the bench, through the HTTP door.</summary>
public class BenchStoryTests
{
    private static readonly string[] Pack = [.. PetrelProject.Site("test").Layout.Modules.Select(m => m.Id.Text)];

    [Fact]
    public async Task Story_1_exchanged_harnesses_answer_under_the_other_name_and_neither_may_charge()
    {
        await using var server = await BenchServer.Start();
        // Static checks pass, as they must, and claim no proof.
        foreach (var id in new[] { "B03", "B11" })
        {
            Assert.True((await server.Enter("proofs/stack", new StackBody(id, Stack(3.9)))).GetProperty("outcome").GetProperty("passed").GetBoolean());
            Assert.True((await server.Enter("proofs/sum", new SumBody(id, [.. Enumerable.Repeat(3.9, 6)], 23.4))).GetProperty("outcome").GetProperty("passed").GetBoolean());
        }

        var before = await server.Get("proofs");
        Assert.DoesNotContain(before.GetProperty("channels").EnumerateArray(), c => c.GetProperty("proven").GetBoolean());
        Assert.DoesNotContain("exchanged", before.ToString(), StringComparison.Ordinal);

        // 5 ohm on the module named B03: 4.7 A through 1 mOhm a group; its harness sits on B11. Two cycles.
        var twoCycles = LoadRhythm.FiveTens with { Cycles = 2 };
        var answer = await server.Enter("proofs/module-load", new RhythmBody("B03", Played(twoCycles, c => c.StartsWith("B11", StringComparison.Ordinal), 0.0047, 0.001, 1)));
        var outcome = answer.GetProperty("outcome");
        Assert.False(outcome.GetProperty("proven").GetBoolean());
        Assert.Contains("the six channels labelled B11 answered", outcome.GetProperty("sentence").GetString(), StringComparison.Ordinal);
        Assert.Equal(["B03", "B11"], outcome.GetProperty("notProvenModules").EnumerateArray().Select(m => m.GetString()));
        var summary = await server.Get("summary");
        Assert.False(summary.GetProperty("supervised").GetBoolean());
        Assert.StartsWith("Not supervised", summary.GetProperty("supervision").GetString(), StringComparison.Ordinal);

        // Corrected and proven again: the stack, the sum and the load must all be done anew.
        await server.Enter("proofs/module-load", new RhythmBody("B03", Played(twoCycles, c => c.StartsWith("B03", StringComparison.Ordinal), 0.0047, 0.001, 2)));
        Assert.False(await Proven(server, "B03.1"));
        await server.Enter("proofs/stack", new StackBody("B03", Stack(3.9)));
        await server.Enter("proofs/sum", new SumBody("B03", [.. Enumerable.Repeat(3.9, 6)], 23.4));
        Assert.True(await Proven(server, "B03.1"));
        Assert.False(await Proven(server, "B11.1"));
    }

    [Fact]
    public async Task Story_2_the_rhythm_names_the_channel_with_dip_and_confidence_and_none_without_a_load()
    {
        await using var server = await BenchServer.Start();
        var named = await server.Enter("proofs/cell-rhythm", new RhythmBody("B05.2", Played(LoadRhythm.FiveTens, c => c == "B05.2", 0.001, 0.001, 5)));
        Assert.True(named.GetProperty("outcome").GetProperty("proven").GetBoolean(), named.ToString());
        Assert.InRange(named.GetProperty("outcome").GetProperty("dipMv").GetDouble(), 0.7, 1.3);
        Assert.True(named.GetProperty("outcome").GetProperty("confidencePercent").GetDouble() > 99.9);
        var none = await server.Enter("proofs/cell-rhythm", new RhythmBody("B05.3", Played(LoadRhythm.FiveTens, _ => false, 0, 0.001, 6)));
        Assert.Empty(none.GetProperty("outcome").GetProperty("answered").EnumerateArray());
        Assert.True(await Proven(server, "B05.2"));
    }

    [Fact]
    public async Task Story_2_in_a_hundred_trials_the_right_channel_is_named_93_times_and_none_without_a_load_99_times()
    {
        await using var server = await BenchServer.Start();
        var (right, blank) = (0, 0);
        for (var trial = 0; trial < 100; trial++)
        {
            var cell = $"{Pack[trial * 7 % 18]}.{trial % 6 + 1}";
            var named = (await server.Enter("proofs/cell-rhythm", new RhythmBody(cell, Played(LoadRhythm.FiveTens, c => c == cell, 0.001, 0.001, (ulong)(100 + trial))))).GetProperty("outcome");
            if (named.GetProperty("proven").GetBoolean() && Math.Abs(named.GetProperty("dipMv").GetDouble() - 1.0) <= 0.3) right++;
            var none = (await server.Enter("proofs/cell-rhythm", new RhythmBody(cell, Played(LoadRhythm.FiveTens, _ => false, 0, 0.001, (ulong)(300 + trial))))).GetProperty("outcome");
            if (none.GetProperty("answered").GetArrayLength() == 0) blank++;
        }

        Assert.True(right >= 93, $"{right} of 100 named with their dip");
        Assert.True(blank >= 99, $"{blank} of 100 named none");
    }

    [Fact]
    public async Task Story_3_exchanged_leads_are_named_and_the_failed_attempt_is_kept()
    {
        await using var server = await BenchServer.Start();
        var outcome = (await server.Enter("proofs/stack", new StackBody("B09", [0, 3.91, 7.82, 15.64, 11.73, 19.55, 23.46]))).GetProperty("outcome");
        Assert.False(outcome.GetProperty("passed").GetBoolean());
        Assert.Contains("Lead 3 and lead 4 are exchanged: do not plug in", outcome.GetProperty("sentence").GetString(), StringComparison.Ordinal);
        Assert.True((await server.Enter("proofs/stack", new StackBody("B09", Stack(3.91)))).GetProperty("outcome").GetProperty("passed").GetBoolean());
        var history = await server.Get("proofs/B09/stack");
        Assert.Equal([false, true], history.EnumerateArray().Select(h => h.GetProperty("value").GetProperty("passed").GetBoolean()));
        Assert.Equal("Ada", history[0].GetProperty("by").GetString());
    }

    [Fact]
    public async Task Story_5_a_leak_of_5_7_milliampere_is_rejected_and_no_sibling_accused()
    {
        await using var server = await BenchServer.Start();
        await Inspected(server, "B07");
        await server.Enter("runs", new RunBody("B07", RunMethod.Rest, "shelf", false));
        var draws = new SeededDraws(9);
        var times = Enumerable.Range(0, 10 * 48 + 1).Select(i => 1800.0 * i).ToArray();
        var degC = times.Select(t => 20 + 1.5 * Math.Sin(2 * Math.PI * t / 86400)).ToArray();
        var cells = Enumerable.Range(0, 6).Select(g => times.Select((t, i) => 3.85 + 0.0004 * (degC[i] - 20) + 0.0001 * draws.Normal() - (g == 3 ? 0.001 * t / 86400 : 0)).ToArray()).ToArray();
        var kept = await server.Enter("runs/B07-rest-1/rest", new RestBody(new RestRecording(times, cells, degC, 8, 110), null));
        var outcome = kept.GetProperty("value").GetProperty("outcome");
        Assert.Equal("reject", outcome.GetProperty("verdict").GetString());
        var groups = outcome.GetProperty("groups").EnumerateArray().ToList();
        Assert.InRange(groups[3].GetProperty("leakMilliampere").GetDouble(), 5.5, 5.95);
        // 1 mV a day at 8 mV/% on 110 Ah is 5.73 mA: the stated interval covers it.
        Assert.InRange(Math.Abs(groups[3].GetProperty("leakMilliampere").GetDouble() - 5.73), 0, groups[3].GetProperty("halfWidthMilliampere").GetDouble());
        Assert.All(groups.Where((_, g) => g != 3), g => Assert.Equal("accept", g.GetProperty("verdict").GetString()));
        Assert.True(outcome.GetProperty("smallestLeakFoundMilliampere").GetDouble() > 0);
        var run = await server.Get("runs/B07-rest-1");
        Assert.Equal("ended", run.GetProperty("value").GetProperty("state").GetString());
        Assert.Equal(64, run.GetProperty("value").GetProperty("raw")[0].GetProperty("sha256").GetString()!.Length);
        Assert.Contains($"Smallest leak this test could have found: {outcome.GetProperty("smallestLeakFoundMilliampere").GetDouble():0.0}", await Sheet(server, "certificate", "B07-rest-1"), StringComparison.Ordinal);
    }

    [SharedFact("data/ev_cell_rest_48h_a.csv")]
    public async Task Story_6_relaxation_is_not_read_as_a_leak()
    {
        await using var server = await BenchServer.Start();
        var rows = File.ReadLines(SharedMaterial.PathOf("data/ev_cell_rest_48h_a.csv")).Skip(1).Select(l => l.Split(',')).Where(f => f[2] == "6").ToList();
        double[] Column(int i) => [.. rows.Select(f => double.Parse(f[i], System.Globalization.CultureInfo.InvariantCulture))];
        var outcome = await server.Enter("read/rest", new RestBody(new RestRecording(Column(0), [Column(5)], null, 8, 33.1), null));
        Assert.Equal("undecided", outcome.GetProperty("verdict").GetString());
        Assert.Empty(outcome.GetProperty("groups").EnumerateArray());
        var sentence = outcome.GetProperty("sentence").GetString()!;
        foreach (var reason in new[] { "still relaxing", "no sibling to compare", "temperature not recorded" }) Assert.Contains(reason, sentence, StringComparison.Ordinal);
    }

    [SharedFact("data/ev_string6_discharge_0p3C.csv")]
    public async Task Stories_7_8_and_9_measured_files_are_read_as_they_are()
    {
        await using var server = await BenchServer.Start();
        Task<JsonElement> Read(string file, double ratedAh) => server.Enter("read/capacity", new CsvBody(File.ReadAllText(SharedMaterial.PathOf($"data/{file}")), new CapacitySettings { RatedAh = ratedAh }));
        var six = await Read("ev_string6_discharge_0p3C.csv", 65);
        Assert.Equal(54.90, six.GetProperty("moduleAh").GetProperty("value").GetDouble(), 0.01);
        Assert.Equal(1, six.GetProperty("endedBy").GetInt32());
        Assert.Contains("Group 1 ended it at 3.000 V; the next, group", six.GetProperty("sentence").GetString(), StringComparison.Ordinal);
        Assert.Contains("was at 3.226 V", six.GetProperty("sentence").GetString(), StringComparison.Ordinal);
        Assert.Contains("Low capacity, not high resistance", six.GetProperty("cause").GetString(), StringComparison.Ordinal);
        Assert.All(six.GetProperty("groups").EnumerateArray().Skip(1), g => Assert.True(g.GetProperty("remainingAh").GetProperty("sigma").GetDouble() > 0));

        var sense = await Read("ev_cell_C15_cycle_a.csv", 33.1);
        Assert.Contains("not believable", sense.GetProperty("sentence").GetString(), StringComparison.Ordinal);
        Assert.Equal(112, sense.GetProperty("senseFault").GetProperty("lowMilliohm").GetDouble(), 1.5);

        // As a run of a module it is printed so too.
        await Inspected(server, "B07");
        await server.Enter("runs", new RunBody("B07", RunMethod.Capacity, "load", true));
        await server.Enter("runs/B07-capacity-1/capacity", new CsvBody(File.ReadAllText(SharedMaterial.PathOf("data/ev_string6_discharge_0p3C.csv")), new CapacitySettings { RatedAh = 65 }));
        Assert.Contains("Low capacity, not high resistance, makes group 1 weak", await Sheet(server, "certificate", "B07-capacity-1"), StringComparison.Ordinal);

        var clock = await Read("pouch_rate_25C_part1_clock_fault.csv", 6.55);
        Assert.Equal(7.280, clock.GetProperty("moduleAh").GetProperty("value").GetDouble(), 0.0006);
        Assert.Equal(3, clock.GetProperty("clockBackRows").GetArrayLength());
    }

    [Fact]
    public async Task Story_10_the_staircase_of_swaps_names_the_group_at_each_step()
    {
        await using var server = await BenchServer.Start();
        // Capacities are put into the records as a finished grade table would hold them.
        var project = server.Service<BenchProject>();
        var store = server.Service<IRecordStore>();
        var shelf = new Shelf<CapacityKept>(store, "capacity");
        foreach (var id in Pack.Append("B19"))
        {
            var lowest = id switch { "B07" => 96.1, "B12" => 101.8, "B04" => 102.0, "B19" => 104.0, _ => 103.2 };
            await Inspected(server, id);
            shelf.Put(id, new CapacityKept("typed", new CapacityOutcome { ModuleAh = new Uncertain(lowest, 0.5), Groups = [.. Enumerable.Range(1, 6).Select(g => new GroupCapacity(g, 3.2, new Uncertain(g == 3 ? lowest : lowest + 1, 0.5), new Uncertain(0, 0), 1.07))] }, 24), 0, "Ada", server.Clock.Now, false);
        }

        var sheet = Grading.Judge([], project.Grades.Limits, "test") with { Cards = [new GradeCard("B19", Grade.A, "", [], 0, "")] };
        new Shelf<GradeSheet>(store, "grade-sheet").Put("sheet", sheet, 0, "Ada", server.Clock.Now, false);
        var price = await server.Get("price");
        Assert.Equal(96.1, price.GetProperty("usableAh").GetDouble(), 6);
        var steps = price.GetProperty("steps");
        Assert.Equal(("B07.3", "B19", "B12.3"), (steps[0].GetProperty("out").GetString(), steps[0].GetProperty("spareIn").GetString(), steps[0].GetProperty("nextLimit").GetString()));
        Assert.Equal(5.7, steps[0].GetProperty("gainAh").GetDouble(), 6);
        Assert.Equal(5.7 * project.Site.NominalV / 1000, steps[0].GetProperty("gainKwh").GetDouble(), 6);
        Assert.Equal(0.2, steps[1].GetProperty("gainAh").GetDouble(), 6);
        Assert.Equal("B04.3", steps[1].GetProperty("nextLimit").GetString());
    }

    [Fact]
    public async Task Story_16_seven_nights_tell_four_causes_and_one_night_leaves_two_undecided()
    {
        await using var server = await BenchServer.Start();
        var (nights, low) = Week();
        var first = await server.Enter("nights", new NightBody("night-1", nights[0], null));
        var causes = Causes(first);
        Assert.Equal("undecided", causes["B04.3"]);
        Assert.Equal("undecided", causes["B05.5"]);
        Assert.Contains("5 mA in one night is 0.05 Ah, below the noise", first.ToString(), StringComparison.Ordinal);
        for (var n = 1; n < 6; n++) await server.Enter("nights", new NightBody($"night-{n + 1}", nights[n], null));
        await server.Enter("low-reading", low);
        var review = await server.Enter("nights", new NightBody("night-7", nights[6], null));
        causes = Causes(review);
        Assert.Equal("chargeOffset", causes["B01.4"]);
        Assert.Equal("lowCapacity", causes["B04.3"]);
        Assert.Equal("leak", causes["B05.5"]);
        Assert.Equal("bleedStuckOn", causes["B09.1"]);
        foreach (var cell in review.GetProperty("value").GetProperty("review").GetProperty("cells").EnumerateArray())
        {
            Assert.NotEmpty(cell.GetProperty("evidence").GetString()!);
            Assert.Equal(cell.GetProperty("cell").GetString() == "B01.4", cell.TryGetProperty("nightsLeft", out _));
        }
    }

    [Fact]
    public async Task Story_18_isolation_is_worked_out_located_with_its_caution_and_impossible_readings_refused()
    {
        await using var server = await BenchServer.Start();
        var body = new IsolationBody(new Core.Estimation.IsolationReadings(400, 100, 300, 200e3, false, 150), 10e6, 55, "contactors open");
        var finding = (await server.Enter("isolation", body)).GetProperty("value").GetProperty("finding");
        Assert.Equal(266_666.667, finding.GetProperty("ohm").GetDouble(), 0.01);
        Assert.Equal(200e3, finding.GetProperty("singleLeakOhm").GetDouble(), 0.001);
        Assert.Equal(667, finding.GetProperty("ohmPerNominalV").GetDouble(), 0.5);
        var position = finding.GetProperty("position").GetString()!;
        Assert.Contains("about 25 % up from negative: group 27, module at slot 5", position, StringComparison.Ordinal);
        Assert.Contains("Two leaks would look the same", position, StringComparison.Ordinal);
        var wrongSide = await server.Refused("isolation", body with { Readings = body.Readings with { KnownAtMinus = true } });
        Assert.Contains("belongs on the side with the larger reading", wrongSide, StringComparison.Ordinal);
        var tooMuch = await server.Refused("isolation", body with { Readings = body.Readings with { MinusToBodyV = 150 } });
        Assert.Contains("more than the pack voltage", tooMuch, StringComparison.Ordinal);
        Assert.Single((await server.Get("isolation")).EnumerateArray());
    }

    [Fact]
    public async Task Story_20_the_third_module_needs_every_piece_and_an_opened_connector_reopens_its_gates()
    {
        await using var server = await BenchServer.Start();
        foreach (var step in new PetrelProject().Steps().TakeWhile(s => s.Path != "gates/9/ready"))
        {
            server.Clock.Now = step.At;
            using var answer = await step.SendAsync(server.Client);
            Assert.True(answer.IsSuccessStatusCode, $"{step.Path}: {await answer.Content.ReadAsStringAsync()}");
        }

        var ready = await server.Enter("gates/9/ready", new ReasonBody(""));
        Assert.Contains("the third makes it 75.6 V full, over the 60 V DC limit", ready.GetProperty("voltageSentence").GetString(), StringComparison.Ordinal);
        Assert.Equal(["expectedV", "measuredV", "coversOn", "secondPerson", "modulesProven"], ready.GetProperty("needs").EnumerateArray().Select(n => n.GetProperty("name").GetString()));

        var evidence = new Dictionary<string, string> { ["expectedV"] = "70.4", ["measuredV"] = "70.3", ["coversOn"] = "yes", ["secondPerson"] = "Bea" };
        foreach (var name in evidence.Keys.ToList())
        {
            var missing = evidence.Where(e => e.Key != name).ToDictionary(e => e.Key, e => e.Value);
            Assert.Contains(name, await server.Refused("gates/9/prove", new EvidenceBody(missing)), StringComparison.Ordinal);
        }

        var proven = await server.Enter("gates/9/prove", new EvidenceBody(evidence));
        Assert.Equal("proven", proven.GetProperty("state").GetString());
        Assert.Equal("70.3", proven.GetProperty("evidence").GetProperty("measuredV").GetString());
        Assert.Equal("Bea", proven.GetProperty("evidence").GetProperty("secondPerson").GetString());

        // The certificate for the wall shows what was measured and who was there.
        var certificate = await Sheet(server, "proofs", "");
        foreach (var shown in new[] { "third module joined: over 60", "expected 70.4", "measured 70.3", "with Bea", "covers on all joined terminals", "PROVEN" }) Assert.Contains(shown, certificate, StringComparison.Ordinal);

        var opened = await server.Enter("proofs/disconnected", new DisconnectedBody("B07", "opened to reach a bolt"));
        Assert.Equal([9], opened.GetProperty("reopenedGates").EnumerateArray().Select(g => g.GetInt32()));
        var gate = await server.Get("gates/9");
        Assert.Equal("reopened", gate.GetProperty("state").GetString());
        Assert.Equal("Connector of B07: opened to reach a bolt.", gate.GetProperty("reason").GetString());
        Assert.Contains("channels not proven: B07", await server.Refused("gates/9/prove", new EvidenceBody(evidence)), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Bad_input_is_refused_in_a_sentence_and_nothing_is_lost()
    {
        await using var server = await BenchServer.Start();
        await server.Enter("modules", new ModuleRecord { Identity = "B07" });
        Assert.Contains("120 kg", await server.Refused("modules", new ModuleRecord { Identity = "B08", MassKg = 120 }), StringComparison.Ordinal);
        Assert.Contains("can be taken for B07", await server.Refused("modules", new ModuleRecord { Identity = "BO7" }), StringComparison.Ordinal);
        Assert.Contains("Say who you are", await server.Refused("modules", new ModuleRecord { Identity = "B08" }, by: " "), StringComparison.Ordinal);
        await server.Enter("modules/B07", new ModuleRecord { Identity = "B07", MassKg = 12.4 }, "Bea", basedOn: 1);
        var (ok, conflict) = await server.Post("modules/B07", new { by = "Cem", entry = new ModuleRecord { Identity = "B07", MassKg = 12.6 }, basedOn = 1 });
        Assert.False(ok);
        Assert.Equal(409, conflict.GetProperty("status").GetInt32());
        Assert.Contains("Bea stored revision 2", conflict.GetProperty("detail").GetString(), StringComparison.Ordinal);
        Assert.Equal(12.4, (await server.Get("modules/B07")).GetProperty("module").GetProperty("massKg").GetDouble());

        await Inspected(server, "B09");
        await server.Enter("runs", new RunBody("B09", RunMethod.Capacity, "load", true));
        const string Head = "time_s,current_A,cell1_V,temp1_degC\n";
        Assert.Contains("Line 3, cell1_V: 'warm'", await server.Refused("runs/B09-capacity-1/capacity", new CsvBody(Head + "0,0,4.1,20\n1,-37,warm,20\n", null)), StringComparison.Ordinal);
        Assert.Contains("more than twice", await server.Refused("runs/B09-capacity-1/capacity", new CsvBody(Head + string.Concat(Enumerable.Range(0, 3000).Select(i => $"{i * 10},{(i == 0 ? 0 : -370)},{4.1 - i * 0.0004:0.0000},20\n")), null)), StringComparison.Ordinal);
        var hole = string.Concat(Enumerable.Range(0, 400).Select(i => $"{i * 10 + (i > 200 ? 900 : 0)},{(i == 0 ? 0 : -37)},{4.1 - i * 0.0028:0.0000},20\n"));
        Assert.Contains("900 s", (await server.Refused("runs/B09-capacity-1/capacity", new CsvBody(Head + hole, null))).Replace("910 s", "900 s", StringComparison.Ordinal), StringComparison.Ordinal);
        Assert.Equal("interrupted", (await server.Get("runs/B09-capacity-1")).GetProperty("value").GetProperty("state").GetString());
    }

    [Fact]
    public async Task Readings_that_cannot_be_and_evidence_that_is_missing_say_what_to_do()
    {
        await using var server = await BenchServer.Start();
        await server.Enter("modules", new ModuleRecord { Identity = "B07", MassKg = 12.4 });

        var falling = (await server.Enter("proofs/stack", new StackBody("B07", [0, 3.9, 7.8, 7.1, 15.6, 19.5, 23.4]))).GetProperty("outcome");
        Assert.False(falling.GetProperty("passed").GetBoolean());
        Assert.Contains("do not plug in", falling.GetProperty("sentence").GetString(), StringComparison.OrdinalIgnoreCase);
        Assert.Contains("Lead 3 reads 0.70 V below lead 2", falling.GetProperty("sentence").GetString(), StringComparison.Ordinal);

        var impossible = await server.Refused("isolation", new IsolationBody(new IsolationReadings(400, 210, 205, 200e3, true, 90), 10e6, 50, ""));
        Assert.Contains("more than the pack voltage, which is impossible: measure again", impossible, StringComparison.Ordinal);
        Assert.Equal(0, (await server.Get("isolation")).GetArrayLength());

        await server.Enter("quarantine", new ArrivalBody(server.Clock.Now, null));
        Assert.Contains("in degF? Enter degC", await server.Refused("quarantine/readings", new QuarantineReading(server.Clock.Now, 20, [212, 20, 20, 20, 20, 20], "", false, "Ada")), StringComparison.Ordinal);
        Assert.Contains("in degF? Enter degC", await server.Refused("modules/B07/inspection", new InspectionEntry([.. Enumerable.Repeat(3.85, 6)], [], 23.1, 0, 86, 50, false, false, "", "")), StringComparison.Ordinal);
        Assert.Contains("in degF? Enter degC", await server.Refused("modules/B07/removal", new RemovalEntry(23.1, 100, 9, "")), StringComparison.Ordinal);
        Assert.Contains("not the stack from the negative end", await server.Refused("modules/B07/inspection", new InspectionEntry([3.9, 7.8, 11.7, 15.6, 19.5, 23.4], [], 23.4, 0, 20, 50, false, false, "", "")), StringComparison.Ordinal);

        await server.Enter("modules/B07/inspection", new InspectionEntry([.. Enumerable.Repeat(3.85, 6)], [], 23.1, 0, 20, 50, false, false, "clean", "meter 2"));
        await server.Enter("runs", new RunBody("B07", RunMethod.Pulse, "load", true));
        Assert.Contains("in degF? Enter degC", await server.Refused("runs/B07-pulse-1/pulse", new PulseRecording([0, 0.5, 1], [0, -100, -100], [[3.8, 3.7, 3.7]], 77, 77.5, 50, 3)), StringComparison.Ordinal);
        Assert.Contains("columns of different lengths", await server.Refused("runs/B07-pulse-1/pulse", new PulseRecording([0, 0.5], [0, -100, -100], [[3.8, 3.7]], 21, 21, 50, 3)), StringComparison.Ordinal);

        var missing = await server.Refused("gates/1/prove", new EvidenceBody(new Dictionary<string, string>(StringComparer.Ordinal) { ["noLeakNoSmell"] = "yes" }));
        Assert.Contains("Service plug out and locked", missing, StringComparison.Ordinal);
        Assert.Contains("stands on gate 14", await server.Refused("gates/15/prove", new EvidenceBody(new Dictionary<string, string>(StringComparer.Ordinal))), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Slots_that_cannot_be_are_refused_and_a_plan_out_of_its_permitted_box_is_not_frozen()
    {
        await using var server = await BenchServer.Start();
        SlotSheet? sheet = null;
        foreach (var step in new PetrelProject().Steps().TakeWhile(s => s.Path != "plan"))
        {
            server.Clock.Now = step.At;
            await server.Post(step.Path, step.Body);
            if (step.Body is BenchEntry<SlotSheet> entered) sheet = entered.Entry;
        }

        Assert.Contains("look like millimetres", await server.Refused("slots", sheet! with { Slots = [sheet.Slots[0] with { X = 1200 }] }), StringComparison.Ordinal);
        Assert.Contains("same number", await server.Refused("slots", sheet with { Slots = [sheet.Slots[0], sheet.Slots[0]] }), StringComparison.Ordinal);
        Assert.Contains("box of the centre of gravity is empty", await server.Refused("slots", sheet with { Permitted = new CentreBox(2.8, 2.6, -0.1, 0.1) }), StringComparison.Ordinal);
        Assert.Contains("A boat needs its displacement", await server.Refused("slots", sheet with { Boat = new BoatStability(0, 65, 0.6, 2.9) }), StringComparison.Ordinal);

        var view = await server.Enter("plan/view", new PlanBody(Pack));
        Assert.Equal(2.705, view.GetProperty("centre").GetProperty("x").GetDouble(), 0.001);
        Assert.Contains("cm by the bow after", view.GetProperty("balance").GetProperty("sentences")[0].GetString(), StringComparison.Ordinal);
        await server.Enter("slots", sheet with { Permitted = new CentreBox(2.0, 2.5, -0.1, 0.1) });
        var refused = await server.Refused("plan", new PlanBody(Pack));
        Assert.Contains("2.705 m aft, is outside its permitted 2.00 to 2.50 m", refused, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_certificate_keeps_the_rules_and_the_program_it_was_judged_by()
    {
        await using var server = await BenchServer.Start(PetrelProject.Site("0.9"));
        await Inspected(server, "B09");
        await server.Enter("runs", new RunBody("B09", RunMethod.Capacity, "load", true));
        var csv = "time_s,current_A,cell1_V,temp1_degC\n" + string.Concat(Enumerable.Range(0, 1100).Select(i => $"{i * 10},{(i < 3 ? 0 : -36.7)},{4.1 - i * 0.001:0.0000},22\n"));
        await server.Enter("runs/B09-capacity-1/capacity", new CsvBody(csv, new CapacitySettings { RatedAh = 111, LowestV = 3.05 }));
        // The same records under a later program with other rules.
        await using var later = await BenchServer.Start(PetrelProject.Site("1.0") with { RatedGroupAh = 120 }, () => server.Service<IRecordStore>());
        foreach (var at in new[] { server, later })
        {
            var certificate = await at.Get("reports/certificate?about=B09-capacity-1&format=json");
            var text = certificate.ToString();
            Assert.Contains("3.05 V", text, StringComparison.Ordinal);
            Assert.Contains("111 Ah", text, StringComparison.Ordinal);
            Assert.Equal("0.9", certificate.GetProperty("softwareVersion").GetString());
        }

        string Fingerprint(JsonElement c) => c.GetProperty("settingsFingerprint").GetString()!;
        Assert.Equal(Fingerprint(await server.Get("reports/certificate?about=B09-capacity-1&format=json")), Fingerprint(await later.Get("reports/certificate?about=B09-capacity-1&format=json")));
    }

    private static async Task Inspected(BenchServer server, string id)
    {
        await server.Enter("modules", new ModuleRecord { Identity = id, MassKg = 12.5 });
        await server.Enter($"modules/{id}/inspection", new InspectionEntry([.. Enumerable.Repeat(3.85, 6)], [], 23.1, 0, 20, 50, false, false, "clean", "meter 2"));
    }

    /// <summary>A report as its print page, as a browser would read it.</summary>
    private static async Task<string> Sheet(BenchServer server, string kind, string about) =>
        System.Net.WebUtility.HtmlDecode(await server.Client.GetStringAsync($"/bench/reports/{kind}?about={about}")).Replace('\u202f', ' ').Replace('\u00a0', ' ');

    private static async Task<bool> Proven(BenchServer server, string channel) =>
        (await server.Get("proofs")).GetProperty("channels").EnumerateArray().Single(c => c.GetProperty("channel").GetString() == channel).GetProperty("proven").GetBoolean();

    private static double[] Stack(double cellV) => [.. Enumerable.Range(0, 7).Select(i => i * cellV)];

    private static Dictionary<string, string> Causes(JsonElement night) =>
        night.GetProperty("value").GetProperty("review").GetProperty("cells").EnumerateArray().ToDictionary(c => c.GetProperty("cell").GetString()!, c => c.GetProperty("cause").GetString()!);

    private static RhythmSamples Played(LoadRhythm rhythm, Func<string, bool> loaded, double dipV, double noiseV, ulong seed)
    {
        var draws = new SeededDraws(seed);
        var times = Enumerable.Range(0, (int)(rhythm.LengthS * 2)).Select(i => i / 2.0).ToArray();
        var cells = Pack.SelectMany(m => Enumerable.Range(1, 6).Select(g => $"{m}.{g}")).ToDictionary(
            c => c, c => times.Select(t => (double?)(3.9 - (loaded(c) ? dipV * (rhythm.LoadAt(t) ?? 0) : 0) + noiseV * draws.Normal())).ToArray());
        return new RhythmSamples(times, cells, rhythm);
    }

    internal static (NightRecord[] Nights, LowReading Low) Week()
    {
        var map = PetrelProject.Site("test").Map;
        int Cell(string name) => Enumerable.Range(0, 108).Single(c => map.NameOf(c) == name);
        int offset = Cell("B01.4"), weak = Cell("B04.3"), leaking = Cell("B05.5"), stuck = Cell("B09.1");
        var draws = new SeededDraws(31);
        var ah = new double[108];
        (ah[offset], ah[weak], ah[leaking]) = (8, -0.3, -0.25);
        double[] Read() => [.. ah.Select(a => a + 0.02 * draws.Normal())];
        var nights = new NightRecord[7];
        for (var n = 0; n < 7; n++)
        {
            var before = Read();
            var planned = new double[108];
            planned[offset] = 1.02;
            ah[offset] -= 1.02;
            ah[leaking] -= 0.005 * 8.5;
            ah[stuck] -= 0.122 * 8.5;
            nights[n] = new NightRecord(8.5, 24 * n + 8.5, before, Read(), planned, planned, new RestConditions(true, 60, 19.8), new RestConditions(true, 60, 18.9), [], 45);
            ah[leaking] -= 0.005 * 15.5;
            ah[stuck] -= 0.122 * 15.5;
        }

        var low = nights[6].AfterAh.Select((a, c) => a + (c == weak ? -(66 / 101.2 - 66.0 / 110) * 110 : 0)).ToArray();
        return (nights, new LowReading(low, 66, 110, 40));
    }
}
