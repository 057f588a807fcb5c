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
    /// <param name="silent">Which of them are silences: its index, whether an instrument's, and what to do first if it is not alone.</param>
    public static void Join(List<(AlarmView View, string Group)> alarms, List<(int Index, bool IsInstrument, string DoFirst)> silent)
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

            var cause = together.Count > instruments
                ? T($"{instruments} instruments and the current fell silent at once: look at the computer, the hub or the supply first")
                : T($"{instruments} instruments fell silent at once: look at the computer, the hub or the supply first");
            var group = FormattableString.Invariant($"silent-at-once.{Since(silent[start])}");
            foreach (var (index, _, doFirst) in together)
                alarms[index] = (alarms[index].View with { LikelyCause = cause, DoFirst = doFirst }, group);
            start = end;
        }

        long Since((int Index, bool IsInstrument, string DoFirst) s) => alarms[s.Index].View.SinceElapsedUs;
    }
}
