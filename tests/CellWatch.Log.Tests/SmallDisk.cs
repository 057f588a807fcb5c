using System.Diagnostics;
using Xunit;

namespace CellWatch.Log.Tests;

/// <summary>A disk of a few megabytes in memory (tmpfs), mounted for one test.</summary>
internal sealed class SmallDisk : IDisposable
{
    public SmallDisk(int megabytes)
    {
        Path = Directory.CreateTempSubdirectory("cellwatch-disk-").FullName;
        if (!Mount("-t", "tmpfs", "-o", $"size={megabytes}m", "tmpfs", Path)) throw new InvalidOperationException("mount was refused");
    }

    public string Path { get; }

    /// <summary>Whether this machine lets a test mount anything.</summary>
    public static bool IsPossible { get; } = Try();

    public void Remount(string mode) => Assert.True(Mount("-o", $"remount,{mode}", Path));

    public void Dispose()
    {
        Start("umount", "-l", Path);
        Directory.Delete(Path);
    }

    private static bool Try()
    {
        if (!OperatingSystem.IsLinux()) return false;
        try
        {
            using var disk = new SmallDisk(1);
            return true;
        }
        catch (Exception e) when (e is InvalidOperationException or System.ComponentModel.Win32Exception)
        {
            return false;
        }
    }

    private static bool Mount(params string[] arguments) => Start("mount", arguments);

    private static bool Start(string program, params string[] arguments)
    {
        using var process = Process.Start(new ProcessStartInfo(program, arguments) { RedirectStandardError = true })!;
        process.StandardError.ReadToEnd();
        process.WaitForExit();
        return process.ExitCode == 0;
    }
}

/// <summary>A fact that needs a small disk of its own, and skips where mounting is refused.</summary>
[AttributeUsage(AttributeTargets.Method)]
internal sealed class SmallDiskFactAttribute : FactAttribute
{
    public SmallDiskFactAttribute()
    {
        if (!SmallDisk.IsPossible) Skip = "this machine refuses to mount a small disk (tmpfs)";
    }
}

/// <summary>A fact that needs a program of the system, and skips where it is absent.</summary>
[AttributeUsage(AttributeTargets.Method)]
internal sealed class ShellFactAttribute : FactAttribute
{
    public ShellFactAttribute(string program)
    {
        var found = (Environment.GetEnvironmentVariable("PATH") ?? "").Split(Path.PathSeparator).Any(folder => File.Exists(Path.Combine(folder, program)));
        if (!found) Skip = $"{program} is not installed";
    }
}
