using Microsoft.AspNetCore.Hosting.StaticWebAssets;

namespace CellWatch.Host.Pipeline;

/// <summary>What the service and the first-run guide begin with: a web server for this machine alone.</summary>
internal static class LocalPages
{
    /// <summary>A builder whose pages are found beside the program, wherever it is started from.</summary>
    /// <param name="port">Port on loopback.</param>
    public static WebApplicationBuilder CreateBuilder(int port)
    {
        var builder = WebApplication.CreateBuilder(new WebApplicationOptions { ContentRootPath = AppContext.BaseDirectory, EnvironmentName = Environments.Production });
        StaticWebAssetsLoader.UseStaticWebAssets(builder.Environment, builder.Configuration);
        builder.WebHost.ConfigureKestrel(kestrel => kestrel.ListenLocalhost(port));
        return builder;
    }
}
