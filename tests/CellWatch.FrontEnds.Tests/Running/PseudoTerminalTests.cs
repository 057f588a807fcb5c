using System.Diagnostics;
using System.Globalization;
using CellWatch.Core.FrontEnds;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;
using CellWatch.FrontEnds.Options;
using CellWatch.FrontEnds.Running;
using CellWatch.FrontEnds.TextLines;
using CellWatch.FrontEnds.Transport;

namespace CellWatch.FrontEnds.Tests.Running;

/// <summary>A fact that skips where socat, which makes the pseudo-terminals, is not installed.</summary>
[AttributeUsage(AttributeTargets.Method)]
public sealed class SocatFactAttribute : FactAttribute
{
    public SocatFactAttribute()
    {
        if (!File.Exists("/usr/bin/socat")) Skip = "socat is not installed (apt install socat)";
    }
}

/// <summary>The last mile on real operating-system ports: socat joins two pseudo-terminals, another process writes into the far one.</summary>
public sealed class PseudoTerminalTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("cellwatch-pty").FullName;
    private readonly ChannelMap _map = new(new PackLayout("petrel", [new PackModule(new ModuleId("B01"), new ModuleTopology(2, 2), 0, 1)]));
    private readonly List<Process> _processes = [];

    private string Near => Path.Combine(_folder, "near");

    private string Far => Path.Combine(_folder, "far");

    [SocatFact]
    public async Task Lines_of_another_process_arrive_and_a_killed_line_comes_back()
    {
        var line = Pair(Near, Far);
        var (frontEnd, inbox, stop, running) = Start(new FrontEndOptions { Name = "pty", Port = Near, Modules = ["B01"], Dtr = true, Rts = true });

        await WriteUntilAsync(Sentences("FE1", 3.9), () => frontEnd.Health.State == LinkState.Alive);
        Assert.Equal(3.9, Value(inbox, 0));
        Assert.Equal(Near, frontEnd.Health.Port);

        var pulled = Stopwatch.StartNew();
        Kill(line);
        await Bench.UntilAsync(() => frontEnd.Health.State == LinkState.Waiting);
        Assert.True(pulled.Elapsed < TimeSpan.FromSeconds(5), "story 13 allows five seconds");
        Assert.Equal(1, frontEnd.Health.LinkLosses);

        Pair(Near, Far);
        await WriteUntilAsync(Sentences("FE1", 3.7), () => frontEnd.Health.State == LinkState.Alive && Value(inbox, 0) == 3.7);
        await StopAsync(stop, running);
    }

    [SocatFact]
    public async Task A_device_that_comes_back_on_another_port_is_found_by_its_identity()
    {
        var other = Path.Combine(_folder, "other-near");
        var otherFar = Path.Combine(_folder, "other-far");
        var line = Pair(Near, Far);
        var (frontEnd, inbox, stop, running) = Start(new FrontEndOptions { Name = "pty", Port = Near, OtherPorts = [other], Identity = "FE1", Modules = ["B01"] });
        await WriteUntilAsync(Sentences("FE1", 3.9), () => frontEnd.Health.State == LinkState.Alive);

        // The lead is pulled; on its old port another board answers now, and ours on another one.
        Kill(line);
        await Bench.UntilAsync(() => frontEnd.Health.State == LinkState.Waiting);
        Pair(Near, Far);
        Pair(other, otherFar);
        await WriteUntilAsync(() =>
        {
            Write(Far, Sentences("FE2", 3.1));
            Write(otherFar, Sentences("FE1", 3.8));
        }, () => frontEnd.Health.State == LinkState.Alive && frontEnd.Health.Port == other);
        Assert.Equal(3.8, Value(inbox, 0));
        await StopAsync(stop, running);
    }

    [SocatFact]
    public async Task Serial_can_frames_of_another_process_arrive()
    {
        File.WriteAllText(Path.Combine(_folder, "board.dbc"), """
            BO_ 256 Cells: 4 B
             SG_ C1 : 0|16@1+ (0.0001,0) [0|6] "V" H
             SG_ C2 : 16|16@1+ (0.0001,0) [0|6] "V" H
            """);
        Pair(Near, Far);
        var (frontEnd, inbox, stop, running) = Start(new FrontEndOptions
        {
            Name = "pty",
            Wire = WireKind.SerialCan,
            Port = Near,
            Modules = ["B01"],
            Database = "board.dbc",
            Signals = new SignalMapOptions { Cells = "C{cell}" },
        });
        await WriteUntilAsync("t100439904690\r", () => frontEnd.Health.State == LinkState.Alive);
        Assert.Equal(3.6921, Value(inbox, 0), 1e-9);
        await StopAsync(stop, running);
    }

    [SocatFact]
    public async Task A_port_that_is_taken_is_refused_with_a_sentence()
    {
        Pair(Near, Far);
        await using var first = await new SerialDevicePort(Near, 115200).OpenAsync(default);
        var error = await Assert.ThrowsAsync<PortException>(async () => await new SerialDevicePort(Near, 115200).OpenAsync(default));
        Assert.Equal(PortFault.InUseOrNotAllowed, error.Fault);
        Assert.Contains("in use", error.Message, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_port_that_does_not_exist_and_a_plain_file_are_told_apart()
    {
        var absent = await Assert.ThrowsAsync<PortException>(async () => await new SerialDevicePort(Path.Combine(_folder, "none"), 115200).OpenAsync(default));
        Assert.Equal((PortFault.Absent, true), (absent.Fault, absent.Message.EndsWith("is not plugged in.", StringComparison.Ordinal)));
        var file = Path.Combine(_folder, "file");
        File.WriteAllText(file, "");
        var wrong = await Assert.ThrowsAsync<PortException>(async () => await new SerialDevicePort(file, 115200).OpenAsync(default));
        Assert.Equal(PortFault.InUseOrNotAllowed, wrong.Fault);
    }

    [Fact]
    public void Ports_are_listed_by_stable_name_first()
    {
        var byId = Directory.CreateDirectory(Path.Combine(_folder, "by-id")).FullName;
        var devices = Directory.CreateDirectory(Path.Combine(_folder, "dev")).FullName;
        foreach (var name in new[] { "ttyUSB0", "ttyUSB1", "ttyACM0", "ttyS0" }) File.WriteAllText(Path.Combine(devices, name), "");
        File.CreateSymbolicLink(Path.Combine(byId, "usb-board_FE0412-if00"), Path.Combine(devices, "ttyUSB1"));
        Assert.Equal(
        [
            new PluggedPort(Path.Combine(byId, "usb-board_FE0412-if00"), Path.Combine(devices, "ttyUSB1"), true),
            new PluggedPort(Path.Combine(devices, "ttyUSB0"), Path.Combine(devices, "ttyUSB0"), false),
            new PluggedPort(Path.Combine(devices, "ttyACM0"), Path.Combine(devices, "ttyACM0"), false),
        ], PortList.Read(byId, devices));
        Assert.Empty(PortList.Read("/nowhere", "/nowhere"));
    }

    private (FrontEndRunner, ReadingInbox, CancellationTokenSource, Task) Start(FrontEndOptions options)
    {
        var inbox = new ReadingInbox(_map, options.Name, Origin.Measured);
        var frontEnd = FrontEndFactory.Create(options, _map, inbox, FrontEndContext.On(TimeProvider.System), _folder);
        var stop = new CancellationTokenSource();
        return (frontEnd, inbox, stop, Task.Run(() => frontEnd.RunAsync(stop.Token)));
    }

    private static async Task StopAsync(CancellationTokenSource stop, Task running)
    {
        await stop.CancelAsync();
        await running.WaitAsync(TimeSpan.FromSeconds(10));
        stop.Dispose();
    }

    private double Value(ReadingInbox inbox, int channel)
    {
        var snapshot = new SnapshotBuffer(_map);
        new Assembler(_map, [inbox], new Freshness()).Assemble(snapshot, new SnapshotTime(FrontEndContext.On(TimeProvider.System).ElapsedUs(), 0));
        return snapshot.Freeze().RawValues[channel];
    }

    private ushort _sequence;

    private string Sentences(string serial, double cellV)
    {
        var board = new TextSentenceWriter(serial, _sequence++);
        board.BeginCells(1);
        board.Add(cellV, 3);
        board.Add(cellV, 3);
        return System.Text.Encoding.ASCII.GetString(board.End());
    }

    private Task WriteUntilAsync(string text, Func<bool> isThere) => WriteUntilAsync(() => Write(Far, text), isThere);

    private static async Task WriteUntilAsync(Action write, Func<bool> isThere)
    {
        var limit = Stopwatch.StartNew();
        while (!isThere())
        {
            write();
            await Task.Delay(50);
            Assert.True(limit.Elapsed < TimeSpan.FromSeconds(20), "it did not happen within twenty seconds");
        }
    }

    /// <summary>An independent process writes the bytes into the far terminal.</summary>
    private static void Write(string far, string text)
    {
        var start = new ProcessStartInfo("/bin/sh") { RedirectStandardInput = true, UseShellExecute = false };
        start.ArgumentList.Add("-c");
        start.ArgumentList.Add($"cat > '{far}'");
        using var shell = Process.Start(start)!;
        shell.StandardInput.Write(text);
        shell.StandardInput.Close();
        shell.WaitForExit(5000);
    }

    private Process Pair(string near, string far)
    {
        var start = new ProcessStartInfo("/usr/bin/socat");
        start.ArgumentList.Add(string.Create(CultureInfo.InvariantCulture, $"pty,raw,echo=0,link={near}"));
        start.ArgumentList.Add(string.Create(CultureInfo.InvariantCulture, $"pty,raw,echo=0,link={far}"));
        var process = Process.Start(start)!;
        _processes.Add(process);
        Assert.True(SpinWait.SpinUntil(() => File.Exists(near) && File.Exists(far), TimeSpan.FromSeconds(10)), "socat made no terminals");
        return process;
    }

    private static void Kill(Process process)
    {
        process.Kill();
        process.WaitForExit(5000);
    }

    public void Dispose()
    {
        foreach (var process in _processes)
        {
            if (!process.HasExited) Kill(process);
            process.Dispose();
        }

        Directory.Delete(_folder, recursive: true);
    }
}
