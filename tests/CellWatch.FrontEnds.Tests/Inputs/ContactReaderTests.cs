using System.Diagnostics;
using CellWatch.Core.Inputs;
using CellWatch.FrontEnds.Inputs;
using CellWatch.FrontEnds.Tests.Running;
using CellWatch.FrontEnds.Transport;
using Microsoft.Extensions.Time.Testing;

namespace CellWatch.FrontEnds.Tests.Inputs;

public sealed class ContactReaderTests : IDisposable
{
    private readonly FakeTimeProvider _time = new(DateTimeOffset.UnixEpoch);
    private readonly FakeLine _line = new();
    private readonly List<InputState> _states = [];
    private readonly CancellationTokenSource _stop = new();
    private readonly ContactReader _reader;
    private readonly Task _running;

    public ContactReaderTests()
    {
        _reader = new ContactReader("foot switch", InputPurpose.Presence, _line, _time, _ => Task.FromResult("Noted."), v => { lock (_states) _states.Add(v.State); });
        _running = _reader.RunAsync(_stop.Token);
    }

    public void Dispose()
    {
        _stop.Cancel();
        _running.Wait(TimeSpan.FromSeconds(10));
        _stop.Dispose();
    }

    [Fact]
    public async Task A_press_is_counted_with_its_time_and_answer()
    {
        await PassAsync(1);
        _line.IsClosed = true;
        await PassAsync(0.3);
        Assert.Equal(0, _reader.View.Presses);
        _line.IsClosed = false;
        await PassAsync(1);
        Assert.Equal((1, "Noted.", InputState.Well), (_reader.View.Presses, _reader.View.LastAnswer, _reader.View.State));
        Assert.InRange(_reader.View.LastPressUnixMs!.Value, 1_400, 2_000);
    }

    [Fact]
    public async Task A_stuck_switch_is_said_and_counts_for_nothing()
    {
        await PassAsync(1);
        _line.IsClosed = true;
        await PassAsync(30);
        Assert.Equal(InputState.Stuck, _reader.View.State);
        Assert.Contains("stuck", _reader.View.Fault, StringComparison.Ordinal);
        _line.IsClosed = false;
        await PassAsync(1);
        Assert.Equal((InputState.Well, "", 0), (_reader.View.State, _reader.View.Fault, _reader.View.Presses));
        lock (_states) Assert.Equal([InputState.Well, InputState.Stuck, InputState.Well], _states);
    }

    [Fact]
    public async Task A_line_that_goes_is_said_tried_again_and_what_was_pressed_meanwhile_counts_for_nothing()
    {
        await PassAsync(1);
        _line.IsClosed = true;
        await PassAsync(0.2);
        _line.Fault = "CTS of /dev/ttyUSB0 cannot be read any more.";
        await PassAsync(0.1);
        Assert.Equal((InputState.Lost, _line.Fault), (_reader.View.State, _reader.View.Fault));
        await PassAsync(20);
        Assert.InRange(_line.Openings, 4, 7);
        _line.Fault = "";
        _line.IsClosed = false;
        await PassAsync(15);
        Assert.Equal((InputState.Well, 0), (_reader.View.State, _reader.View.Presses));
    }

    [Fact]
    public void A_gpio_line_this_machine_lacks_is_a_sentence()
    {
        var line = new GpioContact(511);
        Assert.Equal("GPIO 511", line.Place);
        Assert.Contains("GPIO 511", Assert.Throws<PortException>(line.Open).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_serial_port_that_is_not_there_is_a_sentence() =>
        Assert.Equal("/dev/no-such-port is not plugged in.", Assert.Throws<PortException>(new SerialContact("/dev/no-such-port", SerialSignal.Cts).Open).Message);

    [SocatFact]
    public async Task A_port_without_control_lines_is_refused_and_never_reads_as_a_switch()
    {
        var folder = Directory.CreateTempSubdirectory("cellwatch-contact-").FullName;
        var near = Path.Combine(folder, "near");
        using var socat = Process.Start("/usr/bin/socat", [$"pty,raw,echo=0,link={near}", $"pty,raw,echo=0,link={Path.Combine(folder, "far")}"]);
        try
        {
            await Bench.UntilAsync(() => File.Exists(near));
            Assert.Contains("has no control lines", Assert.Throws<PortException>(new SerialContact(near, SerialSignal.Dsr).Open).Message, StringComparison.Ordinal);
        }
        finally
        {
            socat.Kill();
            await socat.WaitForExitAsync();
            Directory.Delete(folder, recursive: true);
        }
    }

    // Moves the clock look by look, and lets the reader come to wait again before it moves on.
    private async Task PassAsync(double seconds)
    {
        for (var step = 0; step < seconds / 0.02; step++)
        {
            var before = _line.Looks;
            _time.Advance(TimeSpan.FromMilliseconds(20));
            if (_reader.View.State == InputState.Lost) await Task.Delay(1);
            else SpinWait.SpinUntil(() => _line.Looks > before, 200);
        }
    }

    private sealed class FakeLine : IContactLine
    {
        public volatile bool IsClosed;
        public volatile string Fault = "";

        public volatile int Looks;

        public int Openings { get; private set; }

        public string Place => "a line on the bench";

        public IOpenContact Open()
        {
            Openings++;
            if (Fault.Length > 0) throw new PortException(PortFault.Absent, Fault);
            return new Contact(this);
        }

        private sealed class Contact(FakeLine line) : IOpenContact
        {
            public bool IsClosed()
            {
                line.Looks++;
                return line.Fault.Length > 0 ? throw new PortException(PortFault.Absent, line.Fault) : line.IsClosed;
            }

            public void Dispose()
            {
            }
        }
    }
}
