using System.Security.Cryptography;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;

namespace CellWatch.Dashboard;

/// <summary>
/// The content-security policy of every answer (W3C CSP level 3): everything comes from this host, no script stands in a page, nobody
/// frames it. Two allowances, both the framework's: the import map is an inline script and carries a nonce that is new for every answer;
/// styles may stand in a page, because MudBlazor writes its theme as a style element and sizes as style attributes.
/// </summary>
public static class PagePolicy
{
    private const string NonceKey = "cellwatch.nonce";

    /// <summary>The policy with the nonce of one answer.</summary>
    public static string With(string nonce) => string.Join("; ",
        "default-src 'self'", $"script-src 'self' 'nonce-{nonce}'", "style-src 'self' 'unsafe-inline'", "img-src 'self' data: blob:", "connect-src 'self'",
        "object-src 'none'", "base-uri 'self'", "form-action 'self'", "frame-ancestors 'none'");

    /// <summary>Sends the policy with every answer.</summary>
    public static IApplicationBuilder UsePagePolicy(this IApplicationBuilder app) => app.Use((context, next) =>
    {
        var nonce = Convert.ToBase64String(RandomNumberGenerator.GetBytes(16));
        context.Items[NonceKey] = nonce;
        var headers = context.Response.Headers;
        headers.ContentSecurityPolicy = With(nonce);
        headers.XContentTypeOptions = "nosniff";
        headers["Referrer-Policy"] = "no-referrer";
        return next(context);
    });

    /// <summary>The nonce of this answer, for the import map; null where the policy is not sent.</summary>
    public static string? NonceOf(HttpContext? context) => context?.Items[NonceKey] as string;
}
