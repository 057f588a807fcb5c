using System.Globalization;
using CellWatch.Core.Engine;
using CellWatch.Core.Pack;
using CellWatch.Core.Rules;
using CellWatch.Core.Tests.Engine;

namespace CellWatch.Core.Tests.Rules;

/// <summary>A rule case read from its file; the form is described in RuleCases/README.md. Errors name the line.</summary>
internal sealed class RuleCase
{
    private readonly Dictionary<string, List<double?>> _series = new(StringComparer.Ordinal);
    private readonly List<(double AtS, string Alarm, AlarmState State)> _expected = [];
    private readonly List<(double AtS, string Words)> _spoken = [];
    private readonly List<string> _never = [];
    private readonly Dictionary<string, string> _pack = new(StringComparer.Ordinal);
    private double _stepS = 1;
    private bool _only;

    public string Title { get; private set; } = "";

    public static RuleCase Read(string path)
    {
        var read = new RuleCase();
        var section = "";
        var number = 0;
        foreach (var raw in File.ReadLines(path))
        {
            number++;
            var line = raw.Split('#')[0].Trim();
            if (line.Length == 0) continue;
            try
            {
                section = read.Take(line, section);
            }
            catch (Exception e) when (e is FormatException or ArgumentException)
            {
                throw new FormatException($"{Path.GetFileName(path)} line {number} '{line}': {e.Message}");
            }
        }

        if (read.Title.Length == 0 || read._series.Count == 0) throw new FormatException($"{Path.GetFileName(path)}: a case needs a title and a series.");
        return read;
    }

    /// <summary>Plays it; an empty text when all is as expected.</summary>
    public string Play()
    {
        var limits = new CellLimits { ChargeTargetV = Number("target", 4.10) };
        var bench = new PackBench(
            modules: (int)Number("modules", 1), series: (int)Number("cells", 6), type: CellType.Nmc420 with { Limits = limits },
            options: new EngineOptions { CapacityAh = Number("capacity", 110), HandCutOff = _pack.GetValueOrDefault("cutoff", "red button") });
        bench.AllCells(3.9);
        var spoken = new List<string>();
        var scans = _series.Values.Max(s => s.Count);
        for (var scan = 0; scan < scans; scan++)
        {
            foreach (var (name, values) in _series) Put(bench, name, values[Math.Min(scan, values.Count - 1)]);
            bench.Run(_stepS, _stepS);
            foreach (var (_, words) in _spoken.Where(s => Math.Abs(s.AtS - (scan + 1) * _stepS) < _stepS / 2))
                if (!PackBench.Plain(bench.State.Verdict.Sentence).Contains(words, StringComparison.Ordinal)) spoken.Add($"at {(scan + 1) * _stepS} s it said: {PackBench.Plain(bench.State.Verdict.Sentence)}");
        }

        return string.Join('\n', [.. spoken, .. Differences(bench)]);
    }

    private IEnumerable<string> Differences(PackBench bench)
    {
        var named = _expected.Select(e => e.Alarm).ToHashSet(StringComparer.Ordinal);
        var seen = bench.Transitions.Where(t => named.Contains(t.Id) || _only).Select(t => (AtS: t.ElapsedUs * 1e-6, Alarm: t.Id, State: t.To)).ToList();
        var text = string.Join('\n', seen.Select(s => $"  {s.AtS:0.#}  {s.Alarm}  {s.State}"));
        if (!seen.SequenceEqual(_expected)) yield return $"expected:\n{string.Join('\n', _expected.Select(s => $"  {s.AtS:0.#}  {s.Alarm}  {s.State}"))}\nseen:\n{text}";
        foreach (var rule in _never)
            if (bench.Transitions.FirstOrDefault(t => t.Alarm.Rule == rule) is { } t) yield return $"'{rule}' must never act, but did at {t.ElapsedUs * 1e-6:0.#} s: {t.Alarm.Message}";
    }

    private string Take(string line, string section)
    {
        var word = line.Split(' ', 2);
        var rest = word.Length > 1 ? word[1].Trim() : "";
        switch (word[0])
        {
            case "case": Title = rest; return "";
            case "step": _stepS = Value(rest); return "";
            case "pack":
                foreach (var part in rest.Split(','))
                {
                    var pair = part.Trim().Split(' ', 2);
                    _pack[pair[0]] = pair.Length > 1 ? pair[1].Trim() : throw new FormatException($"'{part.Trim()}' needs a value.");
                }

                return "";
            case "only": _only = true; return section;
            case "never": _never.Add(rest); return section;
            case "series" or "expect": return word[0];
            default:
                if (section == "series") _series[word[0]] = Values(rest);
                else if (section == "expect") Expect(line);
                else throw new FormatException("it belongs to no section: begin with case, pack, step, series, expect, only or never.");
                return section;
        }
    }

    private void Expect(string line)
    {
        var words = line.Split(' ', StringSplitOptions.RemoveEmptyEntries);
        if (words[0] == "at")
        {
            if (words.Length < 4 || words[2] != "spoken") throw new FormatException("write: at SECOND spoken WORDS.");
            _spoken.Add((Value(words[1]), string.Join(' ', words[3..])));
            return;
        }

        if (words.Length != 3) throw new FormatException("write: SECOND ALARM STATE.");
        _expected.Add((Value(words[0]), words[1], words[2] switch
        {
            "normal" => AlarmState.Normal,
            "unacknowledged" => AlarmState.Unacknowledged,
            "acknowledged" => AlarmState.Acknowledged,
            "returned" => AlarmState.ReturnedUnacknowledged,
            "latched" => AlarmState.LatchedUnacknowledged,
            "suppressed" => AlarmState.Suppressed,
            _ => throw new FormatException($"'{words[2]}' is no state."),
        }));
    }

    private static List<double?> Values(string text)
    {
        var values = new List<double?>();
        foreach (var part in text.Split(',', StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries))
        {
            var words = part.Split(" x", 2);
            var times = words.Length > 1 ? int.Parse(words[1], NumberStyles.None, CultureInfo.InvariantCulture) : 1;
            if (words[0].Split("..") is [var from, var to])
                for (var i = 0; i < times; i++) values.Add(Value(from) + (Value(to) - Value(from)) * i / Math.Max(1, times - 1));
            else
                for (var i = 0; i < times; i++) values.Add(words[0].Trim() == "_" ? null : Value(words[0]));
        }

        return values.Count > 0 ? values : throw new FormatException("it has no values.");
    }

    private static void Put(PackBench bench, string name, double? value)
    {
        switch (name)
        {
            case "current":
                Seen(bench, bench.Map.PackCurrent, value);
                bench.CurrentA = value ?? bench.CurrentA;
                return;
            case "string": bench.StringV = value; return;
            case "cells":
                if (value is { } v) bench.AllCells(v);
                return;
            case "sensors":
                if (value is { } t) bench.TemperatureDegC.AsSpan().Fill(t);
                return;
        }

        if (name.StartsWith("bleed.", StringComparison.Ordinal))
        {
            var cell = bench.Cell(name[6..]);
            if (value > 0) bench.Bleeding.Add(cell);
            else bench.Bleeding.Remove(cell);
            return;
        }

        var channel = Enumerable.Range(0, bench.Map.Count).First(c => bench.Map.NameOf(c) == name);
        Seen(bench, channel, value);
        if (value is not { } x) return;
        if (channel < bench.Map.CellCount) bench.CellV[channel] = x;
        else bench.TemperatureDegC[channel - bench.Map.FirstTemperature] = x;
    }

    /// <summary>A value that is not seen has been silent for longer than its limit.</summary>
    private static void Seen(PackBench bench, int channel, double? value)
    {
        if (value is not null) bench.Lost.Remove(channel);
        else if (!bench.Lost.ContainsKey(channel)) bench.Lost[channel] = bench.NowUs - 10_000_000;
    }

    private double Number(string name, double otherwise) => _pack.TryGetValue(name, out var text) ? Value(text) : otherwise;

    private static double Value(string text) =>
        double.TryParse(text.Trim(), NumberStyles.Float, CultureInfo.InvariantCulture, out var v) ? v : throw new FormatException($"'{text.Trim()}' is no number.");
}
