using System.Globalization;

namespace CellWatch.Benchmarks.Service;

/// <summary>What the boards of a <see cref="WireLoad"/> say, and how a round is known again where it comes out.</summary>
internal abstract class WirePattern
{
    public const int Boards = 3;
    protected const int ModulesPerBoard = 6;
    private const int Temperatures = 4;

    /// <summary>Rounds a second.</summary>
    public abstract double Hz { get; }

    /// <summary>Cells of a module.</summary>
    public abstract int Cells { get; }

    /// <summary>Rounds after which a round looks like an earlier one.</summary>
    public abstract int Rounds { get; }

    /// <summary>Whether the first board ends its line with the pack's current.</summary>
    protected virtual bool HasCurrent => false;

    /// <summary>Further members of the site file.</summary>
    protected virtual string SiteExtras => "";

    /// <summary>Voltage of a cell, 0.1 mV.</summary>
    /// <param name="module">Module on its board, from 0.</param>
    /// <param name="cell">Cell of the module, from 0.</param>
    /// <param name="round">Round from the start.</param>
    /// <param name="random">Noise.</param>
    protected abstract int Voltage(int module, int cell, long round, Random random);

    /// <summary>Current, A.</summary>
    protected virtual double CurrentA(long round) => 0;

    /// <summary>The line of a board.</summary>
    public string Line(int board, long round, Random random)
    {
        var fields = new List<string>();
        for (var module = 0; module < ModulesPerBoard; module++)
        {
            for (var cell = 0; cell < Cells; cell++) fields.Add(Voltage(module, cell, round, random).ToString(CultureInfo.InvariantCulture));
            for (var t = 0; t < Temperatures; t++) fields.Add((20 + (random.Next(100) / 100.0)).ToString("F2", CultureInfo.InvariantCulture));
        }

        if (HasCurrent && board == 0) fields.Add(CurrentA(round).ToString("F1", CultureInfo.InvariantCulture));
        return string.Join(',', fields) + "\r\n";
    }

    /// <summary>The site file.</summary>
    public string Site(string folder, int mqttPort, int webPort)
    {
        string Module(int m) => $$"""{ "id": "{{Id(m)}}", "topology": "{{Cells}}S1P", "temperatures": {{Temperatures}} }""";
        IEnumerable<string> Runs(int board) => Enumerable.Range(0, ModulesPerBoard).SelectMany(m => new[]
        {
            $$"""{ "position": {{(m * (Cells + Temperatures)) + 1}}, "quantity": "cells", "module": {{m + 1}}, "count": {{Cells}}, "scale": 0.0001 }""",
            $$"""{ "position": {{(m * (Cells + Temperatures)) + Cells + 1}}, "quantity": "temperatures", "module": {{m + 1}}, "count": {{Temperatures}} }""",
        }).Concat(HasCurrent && board == 0 ? [$$"""{ "position": {{(ModulesPerBoard * (Cells + Temperatures)) + 1}}, "quantity": "packCurrent" }"""] : []);
        string Board(int b) => $$"""
            { "name": "board{{b}}", "wire": "plainLines", "port": "{{folder}}/service{{b}}",
              "modules": [{{string.Join(", ", Enumerable.Range(b * ModulesPerBoard, ModulesPerBoard).Select(m => $"\"{Id(m)}\""))}}], "plainLines": { "runs": [ {{string.Join(", ", Runs(b))}} ] } }
            """;
        return $$"""
            { "site": "figures", "cellType": "nmc-4.20", "snapshotHz": {{Hz.ToString(CultureInfo.InvariantCulture)}}, {{SiteExtras}}
              "modules": [ {{string.Join(", ", Enumerable.Range(0, Boards * ModulesPerBoard).Select(Module))}} ],
              "frontEnds": [ {{string.Join(", ", Enumerable.Range(0, Boards).Select(Board))}} ],
              "mqtt": { "port": {{mqttPort}} }, "web": { "port": {{webPort}} } }
            """;
    }

    private static string Id(int module) => string.Create(CultureInfo.InvariantCulture, $"B{module + 1:00}");
}

/// <summary>216 cells at 10 Hz; cell 1 of each module carries the round in 0.1 mV, known again after 500 s only.</summary>
internal sealed class FastPattern : WirePattern
{
    public override double Hz => 10;

    public override int Cells => 12;

    public override int Rounds => 5000;

    protected override int Voltage(int module, int cell, long round, Random random) => cell == 0 ? 35_000 + (int)(round % Rounds) : random.Next(36_950, 37_050);
}

/// <summary>
/// A charge at 2 Hz for the pages. A round is read back from a page by what it shows: cell 1 of a module stands 0.4 mV a round above
/// cell 2 (the median, which moves with the noise, falls out), and the current counts up by 0.1 A. Known again after 20 rounds, 10 s.
/// </summary>
/// <param name="cells">Cells of the pack.</param>
internal sealed class ChargePattern(int cells) : WirePattern
{
    public const double CellStepMv = 0.4;
    public const double FirstCurrentA = 30;
    public const double CurrentStepA = 0.1;

    private int _second;

    public override double Hz => 2;

    public override int Cells { get; } = cells / (Boards * ModulesPerBoard);

    public override int Rounds => 20;

    protected override bool HasCurrent => true;

    // Presence is asked for after four hours, so that the hour is one of a quiet charge.
    protected override string SiteExtras => """ "capacityAh": 100, "handCutOff": "red button", "presenceMinutes": 240, """;

    protected override double CurrentA(long round) => FirstCurrentA + (CurrentStepA * (round % Rounds));

    protected override int Voltage(int module, int cell, long round, Random random)
    {
        // 2 mV a minute from 3.900 V, each cell at a place of its own within 8 mV, 0.5 mV of noise.
        var slopeAndPlace = 39_000 + (int)(round * 20 / 120) + ((((module * 7) + (cell * 5)) % 17) * 5) + random.Next(-5, 6);
        if (cell == 0) return (_second = slopeAndPlace) + (int)(10 * CellStepMv * (round % Rounds));
        return cell == 1 ? _second : slopeAndPlace;
    }
}
