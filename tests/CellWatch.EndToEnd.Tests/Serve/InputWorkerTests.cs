using System.Text.Json.Nodes;
using CellWatch.Core.Commands;
using CellWatch.Core.Inputs;
using CellWatch.EndToEnd.Tests.Support;
using CellWatch.FrontEnds.Inputs;
using CellWatch.Host.Pipeline;
using CellWatch.Testing;
using CellWatch.Testing.Pages;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;

namespace CellWatch.EndToEnd.Tests.Serve;

public sealed class InputWorkerTests
{
    [Fact]
    public async Task A_press_goes_through_the_door_under_the_name_of_the_switch()
    {
        var (door, live, time) = (new CollectingCommandDoor(), new ScriptedLiveView(), new FakeTimeProvider());
        live.Show(Petrel.At("act-now"));
        var (foot, button) = (new FakeLine(), new FakeLine());
        using var worker = new InputWorker([new("foot switch", InputPurpose.Presence, foot), new("button", InputPurpose.Seen, button)], door, live, time, NullLogger<InputWorker>.Instance);
        await worker.StartAsync(default);
        await PassAsync(1);
        (foot.Closed, button.Closed) = (true, true);
        await PassAsync(0.3);
        Assert.Empty(door.Commands);
        (foot.Closed, button.Closed) = (false, false);
        await PassAsync(1);
        await worker.StopAsync(default);

        var urgent = Core.Live.StandingAlarms.FirstUnseen(live.Latest)!;
        Assert.Equal([new AcknowledgeAlarm(urgent.Id, "button"), new ConfirmPresence("foot switch")], door.Commands.OrderBy(c => c.By));
        Assert.All(worker.Inputs, i => Assert.Equal((1, "Done."), (i.Presses, i.LastAnswer)));

        async Task PassAsync(double seconds)
        {
            for (var step = 0; step < seconds / 0.02; step++)
            {
                var (f, b) = (foot.Looks, button.Looks);
                time.Advance(TimeSpan.FromMilliseconds(20));
                SpinWait.SpinUntil(() => foot.Looks > f && button.Looks > b, 200);
            }

            await Task.Delay(20);
        }
    }

    [Fact]
    public async Task An_input_that_cannot_be_opened_is_said_and_the_service_runs_on()
    {
        using var folder = new TemporaryFolder();
        var port = ServiceProcess.FreePort();
        var file = Path.Combine(folder.Path, "site.json");
        await File.WriteAllTextAsync(file, $$"""
            { "site": "bench", "modules": [ { "id": "B01", "topology": "6S2P" } ], "web": { "port": {{port}} }, "mqtt": { "enabled": false },
              "inputs": [ { "name": "foot switch", "wire": "gpio", "line": 511, "purpose": "presence" },
                          { "name": "button", "wire": "serialLine", "port": "/dev/no-such-port", "signal": "dsr", "purpose": "seen" } ] }
            """);
        await using var service = ServiceProcess.Start(port, "serve", "--site", file);
        await service.GetWhenUpAsync("/health", 60);
        JsonArray inputs;
        do inputs = JsonNode.Parse(await service.Http.GetStringAsync("/state/inputs"))!.AsArray();
        while (inputs.Any(i => (string?)i!["state"] == "closed"));

        Assert.All(inputs, i => Assert.Equal("lost", (string?)i!["state"]));
        Assert.StartsWith("GPIO 511 cannot be opened", (string)inputs[0]!["fault"]!, StringComparison.Ordinal);
        Assert.Equal("/dev/no-such-port is not plugged in.", (string?)inputs[1]!["fault"]);
        var page = await service.Http.GetStringAsync("/instruments");
        Assert.Contains("/dev/no-such-port is not plugged in.", page, StringComparison.Ordinal);
        Assert.Contains("Input button on DSR of /dev/no-such-port", service.Output, StringComparison.Ordinal);
    }

    private sealed class FakeLine : IContactLine
    {
        public volatile bool Closed;
        public volatile int Looks;

        public string Place => "a line on the bench";

        public IOpenContact Open() => new Contact(this);

        private sealed class Contact(FakeLine line) : IOpenContact
        {
            public bool IsClosed()
            {
                line.Looks++;
                return line.Closed;
            }

            public void Dispose()
            {
            }
        }
    }
}
