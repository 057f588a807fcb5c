using Bunit;
using Bunit.TestDoubles;
using CellWatch.Core.Commands;
using CellWatch.Core.History;
using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;
using CellWatch.Dashboard.Pages;
using CellWatch.Dashboard.Tests.Strips;
using CellWatch.Testing.Pages;
using Microsoft.AspNetCore.Components;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CellWatch.Dashboard.Tests.Pages;

public sealed class TracesPageTests : PageTest
{
    private static readonly PackState State = Petrel.At("normal");
    private static readonly long Now = State.Snapshot.Time.WallUnixMs;

    private readonly MadeHistory _history = new(
        State.Snapshot.Map, [.. Enumerable.Range(0, 120).Select(s => Now - 120_000 + 1000L * s)], (name, i) => name == "B07.3" && i > 60 ? 3.88 : name == "packCurrentA" ? 12 : 3.9)
    {
        Events = [new EventRecord(1, Now - 30_000, EventKinds.Mark, "lead touched", "Anna", null)],
        Runs = [new RunRecord(4, RunKind.Charge, "Charge, recognised by its current", Now - 7_200_000, Now - 100_000, "recognised", "recognised", "{}")],
        Notes = [new NoteRecord(1, Now - 20_000, null, "lid was open", "Bo")],
    };

    [Fact]
    public void It_says_when_how_far_apart_and_how_fine_and_who_moved_first()
    {
        Services.AddSingleton<IHistory>(_history);
        var page = Show<TracesPage>(State);
        page.WaitForAssertion(() => Assert.Contains("cells at most 20\u202fmV apart", page.Find(".verdict .say").TextContent, StringComparison.Ordinal));
        Assert.Contains("Every scan is drawn.", page.Find(".verdict .say").TextContent, StringComparison.Ordinal);
        Assert.Matches("^Just before: [0-9:]+ Run 4 ended: Charge, recognised by its current. First to move: B07.3", page.Find(".moved").TextContent);
        Assert.Contains("every value shown was believed, so it is in the cells.", page.Find(".moved").TextContent, StringComparison.Ordinal);
        Assert.Contains("Mark: lead touched (Anna)", page.Find(".happened").TextContent, StringComparison.Ordinal);
        Assert.Contains("+12.0\u202fA", page.Find(".trace-table").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void Runs_notes_and_stretches_without_a_record_are_among_what_happened()
    {
        Services.AddSingleton<IHistory>(_history);
        Services.GetRequiredService<BunitNavigationManager>().NavigateTo(new Dashboard.Strips.TraceAddress(new TimeRange(Now - 600_000, Now), ["B07.3"], []).ToUri());
        var page = Show<TracesPage>(State);
        page.WaitForAssertion(() => Assert.Contains("Note: lid was open (Bo)", page.Find(".happened").TextContent, StringComparison.Ordinal));
        var told = page.Find(".happened").TextContent;
        Assert.Contains("Run 4 ended: Charge, recognised by its current", told, StringComparison.Ordinal);
        Assert.DoesNotContain("Run 4 began", told, StringComparison.Ordinal);
        Assert.Matches("No record until [0-9:]+, 8.min", told);
    }

    [Fact]
    public void The_last_charge_is_one_press_away_and_a_drive_that_never_was_is_not_offered()
    {
        Services.AddSingleton<IHistory>(_history);
        var page = Show<TracesPage>(State);
        page.WaitForAssertion(() => Assert.Contains(page.FindAll(".trace-tools button"), b => b.TextContent == "Last charge"));
        Assert.DoesNotContain(page.FindAll(".trace-tools button"), b => b.TextContent == "Last drive");
        Do(page, p => p.FindAll(".trace-tools button").First(b => b.TextContent == "Last charge").Click());
        var uri = Uri.UnescapeDataString(Services.GetRequiredService<NavigationManager>().Uri);
        // A fortieth of its 7,100 s before and after.
        Assert.Contains($"from={DateTimeOffset.FromUnixTimeMilliseconds(Now - 7_200_000 - 177_500):yyyy-MM-dd'T'HH:mm:ss.FFF'Z'}", uri, StringComparison.Ordinal);
        Assert.Contains($"to={DateTimeOffset.FromUnixTimeMilliseconds(Now - 100_000 + 177_500):yyyy-MM-dd'T'HH:mm:ss.FFF'Z'}", uri, StringComparison.Ordinal);
    }

    [Fact]
    public void Runs_on_record_say_what_was_counted_and_open_their_range()
    {
        Services.AddSingleton<IHistory>(new MadeHistory(State.Snapshot.Map, [.. Enumerable.Range(0, 120).Select(s => Now - 120_000 + 1000L * s)], (_, _) => 3.9)
        {
            Runs =
            [
                new RunRecord(1, RunKind.Charge, "Charge, recognised by its current", Now - 9_000_000, Now - 7_200_000, "recognised", "recognised", """{"endedBy":"over","chargeInAh":25.91,"chargeOutAh":0,"gaps":1,"gapS":12}"""),
                new RunRecord(2, RunKind.Drive, "Drive, recognised by its current", Now - 7_000_000, Now - 3_600_000, "recognised", "recognised", """{"endedBy":"dataEnd","chargeInAh":0.2,"chargeOutAh":12.34,"gaps":0,"gapS":0}"""),
                new RunRecord(3, RunKind.Capacity, "B07 at the bench", Now - 3_000_000, Now - 1_800_000, "Bo", "Bo", "not json"),
                new RunRecord(4, RunKind.Rest, "Rest, recognised by its current", Now - 1_200_000, null, "recognised", "", ""),
            ],
        });
        var page = Show<TracesPage>(State);
        page.WaitForAssertion(() => Assert.Equal(4, page.FindAll(".runs-table tbody tr").Count));
        var rows = page.FindAll(".runs-table tbody tr").Select(r => r.TextContent.Replace('\u202f', ' ')).ToList();
        Assert.Contains("still running", rows[0], StringComparison.Ordinal);
        Assert.Contains("20 min so far", rows[0], StringComparison.Ordinal);
        Assert.Contains("nothing was counted", rows[1], StringComparison.Ordinal);
        Assert.Contains("B07 at the bench (Bo)", rows[1], StringComparison.Ordinal);
        Assert.Contains("0.20 Ah in, 12.3 Ah out, ended where the data end", rows[2], StringComparison.Ordinal);
        Assert.Contains("25.9 Ah in, not counted in 1 gap of 12 s", rows[3], StringComparison.Ordinal);
        Do(page, p => p.FindAll(".runs-table button")[3].Click());
        var uri = Uri.UnescapeDataString(Services.GetRequiredService<NavigationManager>().Uri);
        // A fortieth of its 1,800 s before and after.
        Assert.Contains($"from={DateTimeOffset.FromUnixTimeMilliseconds(Now - 9_000_000 - 45_000):yyyy-MM-dd'T'HH:mm:ss.FFF'Z'}", uri, StringComparison.Ordinal);
    }

    [Fact]
    public void Two_neighbours_that_part_by_like_amounts_point_at_the_lead_between_them_and_values_not_believed_at_the_sensor()
    {
        long[] at = [.. Enumerable.Range(0, 120).Select(s => Now - 120_000 + 1000L * s)];
        // the-job 0.7: 0.5 ohm in the shared lead and 124 mA: one reads 62 mV low, its neighbour 62 mV high.
        var shared = new MadeHistory(State.Snapshot.Map, at, (name, i) => i <= 60 ? 3.9 : name == "B07.2" ? 3.838 : name == "B07.3" ? 3.962 : 3.9);
        Services.AddSingleton<IHistory>(shared);
        var page = Show<TracesPage>(State);
        page.WaitForAssertion(() => Assert.Contains("B07.2 and B07.3 moved apart by like amounts: the lead between them, not a cell.", page.Find(".moved").TextContent, StringComparison.Ordinal));
    }

    [Fact]
    public void A_step_of_the_current_before_the_first_cell_moved_is_named_with_what_it_went_from_and_to()
    {
        long[] at = [.. Enumerable.Range(0, 120).Select(s => Now - 120_000 + 1000L * s)];
        var current = State.Snapshot.Map.NameOf(State.Snapshot.Map.PackCurrent);
        // Three seconds of ramp, then cells that part; a later step is not what was just before.
        Services.AddSingleton<IHistory>(new MadeHistory(State.Snapshot.Map, at, (name, i) => name == current ? i < 40 ? 0 : i < 43 ? 20 * (i - 39) : i < 100 ? 60 : 5 : name == "B11.2" && i > 60 ? 3.92 : 3.9));
        var page = Show<TracesPage>(State);
        page.WaitForAssertion(() => Assert.Matches("^Just before: [0-9:]+ current from 0.0.A to \\+60.0.A. First to move: B11.2", page.Find(".moved").TextContent));
    }

    [Fact]
    public void Many_cells_that_move_together_without_a_current_point_at_the_bleed_or_the_measurement()
    {
        long[] at = [.. Enumerable.Range(0, 120).Select(s => Now - 120_000 + 1000L * s)];
        Services.AddSingleton<IHistory>(new MadeHistory(State.Snapshot.Map, at, (name, i) => i > 60 && (name is "B01.3" or "B02.4" or "B08.2" or "B11.2") ? 3.908 : 3.9));
        var page = Show<TracesPage>(State);
        page.WaitForAssertion(() => Assert.Contains("4 cells moved within two minutes and the current did not: a bleed that went on or off", page.Find(".moved").TextContent, StringComparison.Ordinal));
    }

    [Fact]
    public void Values_that_were_not_believed_send_to_the_sensor_first()
    {
        long[] at = [.. Enumerable.Range(0, 120).Select(s => Now - 120_000 + 1000L * s)];
        Services.AddSingleton<IHistory>(new MadeHistory(State.Snapshot.Map, at, (name, i) => name is "B07.2" or "B07.3" && i > 60 ? double.NaN : 3.9));
        var page = Show<TracesPage>(State);
        page.WaitForAssertion(() => Assert.Contains("of the cell values were not believed (B07.2, B07.3): look at the sensor or its lead first", page.Find(".moved").TextContent, StringComparison.Ordinal));
    }

    [Fact]
    public void Without_a_run_the_list_says_which_are_recognised()
    {
        Services.AddSingleton<IHistory>(new MadeHistory(State.Snapshot.Map, [Now - 2000, Now - 1000], (_, _) => 3.9));
        var page = Show<TracesPage>(State);
        page.WaitForAssertion(() => Assert.Contains("No run yet.", page.Find(".runs").TextContent, StringComparison.Ordinal));
    }

    [Fact]
    public void A_filter_takes_other_cells_without_asking_the_log_again()
    {
        Services.AddSingleton<IHistory>(_history);
        Services.GetRequiredService<BunitNavigationManager>().NavigateTo(new Dashboard.Strips.TraceAddress(new TimeRange(Now - 600_000, Now), ["B07.3"], []).ToUri());
        var page = Show<TracesPage>(State);
        page.WaitForAssertion(() => Assert.Equal(108, page.FindAll(".cells-table tbody tr").Count));
        Assert.Contains("Farthest of 108 cells: B07.3", page.Find(".carpet-say").TextContent, StringComparison.Ordinal);
        var asked = _history.Asked.Count;
        Do(page, p => p.FindAll(".carpet-head select")[0].Change("B02"));
        page.WaitForAssertion(() => Assert.Equal(6, page.FindAll(".cells-table tbody tr").Count));
        Do(page, p => p.FindAll(".carpet-head select")[1].Change("doubtful"));
        page.WaitForAssertion(() => Assert.Contains("No cell of B02 to show with \u201conly doubtful\u201d in this range.", page.Find(".carpet-block").TextContent, StringComparison.Ordinal));
        Assert.Equal(asked, _history.Asked.Count);
    }

    [Fact]
    public void A_note_needs_a_name_and_a_time_in_the_range_and_is_kept_in_the_log()
    {
        var recorder = new NoteRecorder();
        Services.AddSingleton<IHistory>(_history);
        Services.AddSingleton<IRecorder>(recorder);
        var page = Show<TracesPage>(State);
        page.WaitForAssertion(() => Assert.NotEmpty(page.FindAll(".note-form")));
        Do(page, p => p.Find(".note-text input").Change("fuse F2 warm"));
        Do(page, p => p.Find(".note-form").Submit());
        page.WaitForAssertion(() => Assert.Contains("type your name first", page.Find(".answer-line").TextContent, StringComparison.Ordinal));
        Do(page, p => p.FindAll(".note-form input")[2].Change("Ada"));
        Do(page, p => p.FindAll(".note-form input")[0].Change("25:70"));
        Do(page, p => p.Find(".note-form").Submit());
        page.WaitForAssertion(() => Assert.Contains("'25:70' is no time in the range shown", page.Find(".answer-line").TextContent, StringComparison.Ordinal));
        Assert.Empty(recorder.Notes);
        Do(page, p => p.FindAll(".note-form input")[0].Change("14:21:30"));
        Do(page, p => p.Find(".note-form").Submit());
        page.WaitForAssertion(() => Assert.Equal(("fuse F2 warm", "Ada"), (Assert.Single(recorder.Notes).Text, recorder.Notes[0].By)));
        Assert.Equal(new DateTimeOffset(2026, 3, 9, 14, 21, 30, TimeSpan.Zero), DateTimeOffset.FromUnixTimeMilliseconds(recorder.Notes[0].WallUnixMs));
    }

    [Fact]
    public void The_log_is_asked_once_for_one_address_however_often_the_page_is_drawn()
    {
        Services.AddSingleton<IHistory>(_history);
        var page = Show<TracesPage>(State);
        page.WaitForAssertion(() => Assert.NotEmpty(page.FindAll(".moved")));
        var asked = _history.Asked.Count;
        for (var i = 0; i < 5; i++) page.Render();
        Assert.Equal(asked, _history.Asked.Count);
    }

    [Fact]
    public void Another_range_is_another_address()
    {
        Services.AddSingleton<IHistory>(_history);
        var page = Show<TracesPage>(State);
        page.WaitForAssertion(() => Assert.NotEmpty(page.FindAll(".trace-tools")));
        Do(page, p => p.FindAll(".trace-tools button").First(b => b.TextContent == "10 min").Click());
        var uri = Services.GetRequiredService<NavigationManager>().Uri;
        Assert.Contains("from=", uri, StringComparison.Ordinal);
        Assert.Contains("cells=B", uri, StringComparison.Ordinal);
    }

    [Fact]
    public void A_range_without_a_record_says_what_there_is()
    {
        Services.AddSingleton<IHistory>(_history);
        Services.GetRequiredService<BunitNavigationManager>().NavigateTo("traces?from=2020-01-01T00:00:00Z&to=2020-01-01T01:00:00Z");
        var page = Show<TracesPage>(State);
        page.WaitForAssertion(() => Assert.Contains("Nothing recorded in this range. The record goes from", page.Find(".nothing").TextContent, StringComparison.Ordinal));
        Assert.Contains("nothing recorded", page.Find(".verdict .say").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void Without_a_log_the_page_says_so() =>
        Assert.Contains("No log is kept here", Show<TracesPage>(State).Find(".verdict .say").TextContent, StringComparison.Ordinal);

    private sealed class NoteRecorder : IRecorder
    {
        public List<NoteRecord> Notes { get; } = [];

        public string Name => "notes";

        public RecordingView Recording { get; } = new(true, "recording", null, null);

        public void Offer(PackState state) => throw new NotSupportedException();

        public void RecordAlarm(AlarmTransition transition) => throw new NotSupportedException();

        public void RecordCommand(PackCommand command, CommandAnswer answer, SnapshotTime time) => throw new NotSupportedException();

        public void RecordEvent(string kind, string text, SnapshotTime time, string by = "", double? lengthS = null) => throw new NotSupportedException();

        public Task<long> OpenRunAsync(RunKind kind, string title, SnapshotTime time, string by, string settings = "") => throw new NotSupportedException();

        public Task<bool> CloseRunAsync(long run, SnapshotTime time, string by, string? settings = null) => throw new NotSupportedException();

        public Task<long> AddNoteAsync(string text, SnapshotTime time, string by, long? run = null)
        {
            Notes.Add(new NoteRecord(Notes.Count + 1, time.WallUnixMs, run, text, by));
            return Task.FromResult((long)Notes.Count);
        }

        public Task<long> AddAttachmentAsync(string name, string mediaType, ReadOnlyMemory<byte> content, SnapshotTime time, string by, long? run = null) => throw new NotSupportedException();

        public Task FreezeAsync(FrozenWindow window) => throw new NotSupportedException();
    }
}
