namespace CellWatch.Host.CommandLine;

/// <summary>What a command returns to the shell.</summary>
public static class ExitCode
{
    /// <summary>Done.</summary>
    public const int Ok = 0;

    /// <summary>The command line itself was wrong.</summary>
    public const int Usage = 1;

    /// <summary>What was given cannot be used: a site file with faults, a database that does not parse.</summary>
    public const int BadInput = 2;

    /// <summary>Something outside failed: a file that cannot be read, a port that is taken.</summary>
    public const int Failed = 3;
}
