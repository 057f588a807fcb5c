namespace CellWatch.Log.Store;

/// <summary>
/// A little room held beside the log and given back when the disk is full: removing old data needs room itself, and a full disk gives none.
/// </summary>
internal static class ReserveFile
{
    private const int Bytes = 1 << 20;

    /// <summary>Makes it where it is missing and the disk has room for it.</summary>
    public static void Ensure(string logPath, long freeBytes)
    {
        var path = Of(logPath);
        if (freeBytes < 16L * Bytes || File.Exists(path)) return;
        try
        {
            File.WriteAllBytes(path, new byte[Bytes]);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            GiveBack(logPath);
        }
    }

    /// <summary>Gives the room back.</summary>
    public static void GiveBack(string logPath)
    {
        try
        {
            File.Delete(Of(logPath));
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            // Then there is none to give.
        }
    }

    public static string Of(string logPath) => logPath + ".reserve";
}
