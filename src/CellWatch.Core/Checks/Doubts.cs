using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Checks;

/// <summary>Why a check does not believe a cell's value.</summary>
internal enum Doubt : byte
{
    None,
    OutOfRange,
    ImpossibleStep,
    DoesNotMove,
    StandsStill,
    RepeatedFrame,
    SharedLead,
    Copy,
}

/// <summary>What the checks found out about each cell in this scan; reused for ever.</summary>
internal sealed class Doubts(int cells)
{
    private readonly Doubt[] _kind = new Doubt[cells];
    private readonly int[] _other = new int[cells];

    public void Clear() => _kind.AsSpan().Clear();

    /// <summary>Lowers a cell's quality and keeps why; the first reason stays.</summary>
    /// <param name="snapshot">The scan.</param>
    /// <param name="cell">The cell.</param>
    /// <param name="doubt">Why.</param>
    /// <param name="quality">What its quality becomes.</param>
    /// <param name="other">The other cell it is about; -1 where there is none.</param>
    public void Lower(SnapshotBuffer snapshot, int cell, Doubt doubt, Quality quality, int other = -1)
    {
        if (snapshot.Qualities[cell] == Quality.Good) snapshot.Qualities[cell] = quality;
        if (_kind[cell] != Doubt.None) return;
        _kind[cell] = doubt;
        _other[cell] = other;
    }

    public Doubt KindOf(int cell) => _kind[cell];

    /// <summary>The reason in words, to stand after the cell's name.</summary>
    public string InWords(PackLayout layout, int cell, Quality quality) => _kind[cell] switch
    {
        Doubt.OutOfRange => T("reads what no cell can be"),
        Doubt.ImpossibleStep => T("made a step no cell can make without current"),
        Doubt.DoesNotMove => T("does not move with current"),
        Doubt.StandsStill => T("repeats one value while the cells beside it move"),
        Doubt.RepeatedFrame => T("comes from a frame that repeats while the current changes"),
        Doubt.SharedLead => T($"moves against {layout.CellAt(_other[cell])} by the same amount: their shared lead"),
        Doubt.Copy => T($"equals {layout.CellAt(_other[cell])} to the last digit"),
        _ => quality switch
        {
            Quality.Good => "",
            Quality.Open => T("open lead"),
            Quality.OutOfRange => T("out of range"),
            Quality.Missing or Quality.Stale => T("no data"),
            _ => T("not believed"),
        },
    };

    /// <summary>What to do about it first.</summary>
    public string WhatDecides(PackLayout layout, int cell) => _kind[cell] switch
    {
        Doubt.SharedLead => T($"measure the lead between {layout.CellAt(cell)} and {layout.CellAt(_other[cell])} with bleeding on"),
        Doubt.DoesNotMove or Doubt.StandsStill or Doubt.Copy or Doubt.RepeatedFrame => T("a hand meter at the cell; re-plug or exchange the board"),
        _ => T("a hand meter at the cell"),
    };
}
