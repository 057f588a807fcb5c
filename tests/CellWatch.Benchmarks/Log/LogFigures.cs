namespace CellWatch.Benchmarks.Log;

/// <summary>
/// Figures of the cell log that are not a loop of microseconds: sizes side by side, a month on disk, bytes written an hour.
/// <c>dotnet run -c Release --project tests/CellWatch.Benchmarks -- log size|append|queries [days]|bytes [minutes]</c>
/// </summary>
internal static class LogFigures
{
    public static async Task<int> RunAsync(string[] args)
    {
        switch (args)
        {
            case ["size"]:
                await SizeFigures.RunAsync();
                return 0;
            case ["append"]:
                await AppendFigures.RunAsync();
                return 0;
            case ["queries"]:
                await QueryFigures.RunAsync(30);
                return 0;
            case ["queries", var days]:
                await QueryFigures.RunAsync(int.Parse(days, System.Globalization.CultureInfo.InvariantCulture));
                return 0;
            case ["bytes"]:
                await BytesFigures.RunAsync(0);
                return 0;
            case ["bytes", var minutes]:
                await BytesFigures.RunAsync(double.Parse(minutes, System.Globalization.CultureInfo.InvariantCulture));
                return 0;
            case ["sample", var folder]:
                await SampleFile.WriteAsync(folder);
                return 0;
            default:
                Console.WriteLine("log size | append | queries [days] | bytes [minutes in real time] | sample FOLDER");
                return 1;
        }
    }
}
