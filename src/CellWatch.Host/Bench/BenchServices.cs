using CellWatch.Core.Bench.Project;
using CellWatch.Core.Register;
using CellWatch.Host.Api;

namespace CellWatch.Host.Bench;

/// <summary>Wiring of the bench.</summary>
public static class BenchServices
{
    /// <summary>Adds the bench project of a site: its records, the door to it, and the form of its bodies.</summary>
    /// <param name="services">The service's parts.</param>
    /// <param name="site">The site.</param>
    /// <param name="store">Opens the records; disposed with the service.</param>
    /// <param name="time">Clock of wall time.</param>
    /// <param name="simulated">Whether the pack is simulated.</param>
    public static IServiceCollection AddBench(this IServiceCollection services, BenchSite site, Func<IRecordStore> store, TimeProvider time, bool simulated)
    {
        services.AddSingleton(site);
        services.AddSingleton(_ => store());
        services.AddSingleton(s => new BenchProject(s.GetRequiredService<IRecordStore>(), site));
        services.AddSingleton(s => new BenchDoor(s.GetRequiredService<BenchProject>(), time, simulated));
        services.AddSingleton<IBenchDesk>(s => s.GetRequiredService<BenchDoor>());
        return services.ConfigureHttpJsonOptions(HttpApi.SetUpJson);
    }
}
