using System.Text;
using CellWatch.FrontEnds.Transport;

namespace CellWatch.Host.NewSite;

/// <summary>Listens to a port for a few seconds, so that a person sees what arrives before anything is decided.</summary>
public static class LinePeek
{
    /// <summary>Most lines that are kept.</summary>
    public const int Most = 200;

    /// <summary>The whole lines that arrived; the first, which may have begun before, is left out.</summary>
    /// <param name="port">Where to listen.</param>
    /// <param name="forS">How long, s.</param>
    /// <param name="cancellation">Ends it early.</param>
    /// <exception cref="PortException">It cannot be opened.</exception>
    public static async Task<IReadOnlyList<string>> ReadAsync(IBytePort port, double forS, CancellationToken cancellation)
    {
        var text = new StringBuilder();
        await using var link = await port.OpenAsync(cancellation);
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(cancellation);
        limit.CancelAfter(TimeSpan.FromSeconds(forS));
        var buffer = new byte[4096];
        try
        {
            while (true)
            {
                var read = await link.Stream.ReadAsync(buffer, limit.Token);
                if (read == 0) break;
                text.Append(Encoding.Latin1.GetString(buffer, 0, read));
                if (text.Length > 64 * 1024) break;
            }
        }
        catch (Exception fault) when (fault is OperationCanceledException or IOException or ObjectDisposedException)
        {
            cancellation.ThrowIfCancellationRequested();
        }

        var lines = text.ToString().Split(['\r', '\n'], StringSplitOptions.RemoveEmptyEntries);
        return [.. lines.Skip(1).SkipLast(text.Length > 0 && text[^1] is '\r' or '\n' ? 0 : 1).Take(Most)];
    }
}
