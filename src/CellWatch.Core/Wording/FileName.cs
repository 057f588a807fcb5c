namespace CellWatch.Core.Wording;

/// <summary>What the name of a file may hold on every system.</summary>
public static class FileName
{
    /// <summary>Whether a character may stand in no file's name: those a system keeps for paths and patterns, and control characters.</summary>
    public static bool IsForbidden(char c) => char.IsControl(c) || c is '/' or '\\' or ':' or '*' or '?' or '"' or '<' or '>' or '|';
}
