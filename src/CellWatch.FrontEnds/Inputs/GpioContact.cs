using System.Device.Gpio;
using CellWatch.FrontEnds.Transport;

namespace CellWatch.FrontEnds.Inputs;

/// <summary>
/// A switch between a GPIO line of this machine and its ground, with the line's own pull-up resistor: closed reads low, open and a broken wire
/// read high. Never tried on a real board; what is taken from the library is its documented behaviour.
/// </summary>
/// <param name="line">Number of the line as the system counts: on Raspberry-class boards the BCM number.</param>
public sealed class GpioContact(int line) : IContactLine
{
    /// <inheritdoc/>
    public string Place => FormattableString.Invariant($"GPIO {line}");

    /// <inheritdoc/>
    public IOpenContact Open()
    {
        GpioController? controller = null;
        try
        {
            controller = new GpioController();
            if (line >= controller.PinCount) throw new PortException(PortFault.Absent, FormattableString.Invariant($"There is no {Place}: this machine has lines 0 to {controller.PinCount - 1}."));
            controller.OpenPin(line, PinMode.InputPullUp);
            return new Contact(controller, line, Place);
        }
        catch (Exception e) when (IsFault(e))
        {
            Discard(controller);
            throw new PortException(PortFault.Absent, $"{Place} cannot be opened: this machine has no such lines, or this user may not use them (on Linux: libgpiod and group gpio). {FirstLine(e)}", e);
        }
        catch (PortException)
        {
            Discard(controller);
            throw;
        }
    }

    private static void Discard(GpioController? controller)
    {
        try
        {
            controller?.Dispose();
        }
        catch (Exception e) when (IsFault(e))
        {
            // It never opened; there is nothing to close.
        }
    }

    // What the library and the native one under it throw where lines, rights or the native library are missing.
    private static bool IsFault(Exception e) => e is PlatformNotSupportedException or NotSupportedException or InvalidOperationException or ArgumentException or IOException
        or UnauthorizedAccessException or DllNotFoundException or EntryPointNotFoundException or TypeInitializationException or System.ComponentModel.Win32Exception;

    private static string FirstLine(Exception e) => (e.InnerException ?? e).Message.Split('\n')[0].Trim();

    private sealed class Contact(GpioController controller, int line, string place) : IOpenContact
    {
        public bool IsClosed()
        {
            try
            {
                return controller.Read(line) == PinValue.Low;
            }
            catch (Exception e) when (IsFault(e))
            {
                throw new PortException(PortFault.Absent, $"{place} cannot be read any more: {FirstLine(e)}", e);
            }
        }

        public void Dispose() => Discard(controller);
    }
}
