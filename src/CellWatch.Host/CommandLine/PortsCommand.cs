using System.CommandLine;
using CellWatch.FrontEnds.Transport;

namespace CellWatch.Host.CommandLine;

/// <summary><c>ports</c>: what is plugged in, by the name that stays with the device.</summary>
public static class PortsCommand
{
    /// <summary>Makes the command.</summary>
    public static Command Create()
    {
        var command = new Command("ports", "Lists what is plugged in, by an identity that stays when the port's name changes");
        command.SetAction(result =>
        {
            var output = result.InvocationConfiguration.Output;
            var ports = PortList.Read();
            if (ports.Count == 0)
            {
                output.WriteLine("No serial device is plugged in. Plug the front end or CAN adapter in and ask again.");
                output.WriteLine("On Linux the user must be in the group dialout; a pseudo-terminal is not listed, type its path.");
            }

            foreach (var port in ports)
                output.WriteLine(port.IsStable ? $"{port.StableName}  (now {port.Device})" : $"{port.Device}  (no identity of its own: the name may change at the next plugging in)");
            return ExitCode.Ok;
        });
        return command;
    }
}
