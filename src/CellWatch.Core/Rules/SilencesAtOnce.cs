namespace CellWatch.Core.Rules;

/// <summary>
/// Two or more instruments, and the current, that fall silent within 2 s of each other have one cause: what they share, not a lead each.
/// Common practice, no source. Told by the instants the alarms were raised at, so an alarm that comes later stands for itself.
/// </summary>
internal static class SilencesAtOnce
{
    /// <summary>Longest time between the first and the last of them, µs.</summary>
    public const long WindowUs = 2_000_000;

    /// <summary>Gives silences at once one group, one likely cause and one thing to do first.</summary>
    /// <param name="alarms">All alarms with the group each is in; changed in place.</param>
    /// <param name="silent">Which of them are silences: its index, and whether an instrument's.</param>
    /// <param name="before">What comes before everything else while a charge may run; empty else.</param>
    public static void Join(List<(AlarmView View, string Group)> alarms, List<(int Index, bool IsInstrument)> silent, string before)
    {
        silent.Sort((a, b) => Since(a).CompareTo(Since(b)));
        for (var start = 0; start < silent.Count;)
        {
            var end = start + 1;
            while (end < silent.Count && Since(silent[end]) - Since(silent[start]) <= WindowUs) end++;
            var together = silent[start..end];
            var instruments = together.Count(s => s.IsInstrument);
            if (instruments < 2)
            {
                start++;
                continue;
            }

            var doFirst = before + (together.Count > instruments
                ? T($"{instruments} instruments and the current fell silent at once: look at the computer, the hub or the supply first. Until they are read again: no charge, no load.")
                : T($"{instruments} instruments fell silent at once: look at the computer, the hub or the supply first. Until they are read again: no charge, no load."));
            var group = FormattableString.Invariant($"silent-at-once.{Since(silent[start])}");
            foreach (var (index, _) in together)
                alarms[index] = (alarms[index].View with { LikelyCause = T("what they share, not a lead each"), DoFirst = doFirst }, group);
            start = end;
        }

        long Since((int Index, bool IsInstrument) s) => alarms[s.Index].View.SinceElapsedUs;
    }
}
