using System.CommandLine;
using System.Globalization;
using CellWatch.Host.Pipeline;
using CellWatch.Mqtt;

namespace CellWatch.Host.CommandLine;

/// <summary>Runs a service until it is asked to stop, and says in a sentence why it cannot start.</summary>
internal static class ServiceRun
{
    public static async Task<int> RunAsync(ServicePlan plan, InvocationConfiguration console, CancellationToken cancellation)
    {
        try
        {
            await using var app = ServiceHost.Build(plan);
            await app.StartAsync(cancellation);
            var address = app.Urls.FirstOrDefault() ?? string.Create(CultureInfo.InvariantCulture, $"http://localhost:{plan.WebPort}");
            console.Output.WriteLine($"{plan.Layout.SiteName}: {plan.Layout.CellCount} cells. Pages: {address}  Stop with Ctrl+C.");
            console.Output.WriteLine("Supervision and advice only: hardware protection and a hand cut-off must exist independently.");
            if (plan.Simulated) console.Output.WriteLine("SIMULATED DATA: no real cells.");
            await app.WaitForShutdownAsync(cancellation);
            return ExitCode.Ok;
        }
        catch (OperationCanceledException)
        {
            return ExitCode.Ok;
        }
        catch (IOException fault) when (fault.InnerException is Microsoft.AspNetCore.Connections.AddressInUseException)
        {
            console.Error.WriteLine($"Port {plan.WebPort} is taken by another program. Stop it or choose another port.");
            return ExitCode.Failed;
        }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException or Log.LogInUseException or BrokerStartException or InvalidOperationException or ArgumentException)
        {
            console.Error.WriteLine(fault.Message);
            return ExitCode.Failed;
        }
    }
}
