using CellWatch.Core.Bench.Project;
using CellWatch.Core.Proofs;
using CellWatch.Core.Register;

namespace CellWatch.Host.Bench;

/// <summary>
/// The one way to the bench project: one caller at a time, the service's clock, and the mark of a simulated pack on everything entered while one
/// is running. Tells when proofs may have changed.
/// </summary>
/// <param name="project">The project.</param>
/// <param name="time">The clock of wall time.</param>
/// <param name="simulated">Whether the pack is simulated.</param>
public sealed class BenchDoor(BenchProject project, TimeProvider time, bool simulated)
{
    private readonly Lock gate = new();

    /// <summary>Raised after proofs may have changed, with the flags by flat channel number and the voided modules, on the caller's thread.</summary>
    public event Action<bool[], IReadOnlyList<ProofVoided>>? ProofsChanged;

    /// <summary>Reads.</summary>
    public T Read<T>(Func<BenchProject, T> read)
    {
        lock (gate) return read(project);
    }

    /// <summary>Enters something.</summary>
    /// <param name="by">The name the person typed.</param>
    /// <param name="isSimulated">Whether the caller says that a figure is simulated.</param>
    /// <param name="enter">What is entered.</param>
    /// <exception cref="RefusedException">It cannot be taken; nothing was stored.</exception>
    public T Enter<T>(string? by, bool isSimulated, Func<BenchProject, Stamp, T> enter)
    {
        RefusedException.Unless(!string.IsNullOrWhiteSpace(by), "Say who you are: every record carries a name.");
        lock (gate)
        {
            try
            {
                return enter(project, new Stamp(by!.Trim(), time.GetLocalNow(), simulated || isSimulated));
            }
            finally
            {
                // Also after a refusal: a failed proof is kept, and it may take others away.
                ProofsChanged?.Invoke(project.ProofStates.Flags(project.Site.Map), [.. project.ProofStates.LatestVoids().Select(v => v.Value)]);
            }
        }
    }
}
