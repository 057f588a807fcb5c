using System.Net;

namespace CellWatch.Host.Api;

/// <summary>
/// Until accounts exist the service answers this machine only, and takes a command only from its own pages: a strange web page
/// open in the same browser must not be able to acknowledge an alarm.
/// </summary>
public static class LoopbackOnly
{
    private static readonly string[] LocalNames = ["localhost", "127.0.0.1", "[::1]"];

    /// <summary>Refuses whatever does not come from this machine under one of its own names.</summary>
    public static IApplicationBuilder UseLoopbackOnly(this IApplicationBuilder app) => app.Use(async (context, next) =>
    {
        var from = context.Connection.RemoteIpAddress;
        // A request without an address comes from the test host, in process.
        if ((from is not null && !IPAddress.IsLoopback(from)) || !LocalNames.Contains(context.Request.Host.Host, StringComparer.OrdinalIgnoreCase))
        {
            await Results.Problem("This service answers its own machine only, under the name localhost.", statusCode: StatusCodes.Status403Forbidden).ExecuteAsync(context);
            return;
        }

        await next(context);
    });

    /// <summary>Lets a command through only as application/json and from the same origin.</summary>
    public static async ValueTask<object?> CommandFilter(EndpointFilterInvocationContext context, EndpointFilterDelegate next)
    {
        var request = context.HttpContext.Request;
        if (!request.HasJsonContentType())
            return Results.Problem("Send the command as application/json.", statusCode: StatusCodes.Status415UnsupportedMediaType);
        return await OwnPagesFilter(context, next);
    }

    /// <summary>
    /// Lets through only what comes from the same origin: for a file as the body, whose content type cannot be JSON. The endpoint must take none of the
    /// content types that a form of a strange page can send.
    /// </summary>
    public static async ValueTask<object?> OwnPagesFilter(EndpointFilterInvocationContext context, EndpointFilterDelegate next)
    {
        var request = context.HttpContext.Request;
        var origin = request.Headers.Origin.ToString();
        var site = request.Headers["Sec-Fetch-Site"].ToString();
        if ((origin.Length > 0 && !string.Equals(origin, $"{request.Scheme}://{request.Host}", StringComparison.OrdinalIgnoreCase))
            || (site.Length > 0 && site is not ("same-origin" or "none")))
            return Results.Problem("Commands are taken from this service's own pages only.", statusCode: StatusCodes.Status403Forbidden);
        return await next(context);
    }
}
