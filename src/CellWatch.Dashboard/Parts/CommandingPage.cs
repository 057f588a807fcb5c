using CellWatch.Core.Commands;
using CellWatch.Dashboard.Live;
using Microsoft.AspNetCore.Components;

namespace CellWatch.Dashboard.Parts;

/// <summary>
/// A page with presses: hands a command to the one door and keeps the answer for the page to say. A press that is not answered within
/// five seconds says so instead of leaving the person to guess.
/// </summary>
public abstract class CommandingPage : ComponentBase
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(5);

    /// <summary>What all parts show now.</summary>
    [CascadingParameter]
    public Picture Picture { get; set; } = null!;

    [Inject]
    private ICommandDoor Door { get; set; } = null!;

    /// <summary>Who presses.</summary>
    [Inject]
    protected PersonAtThePage Person { get; set; } = null!;

    /// <summary>The answer to the last press; empty before the first.</summary>
    protected string Answer { get; private set; } = "";

    /// <summary>Whether the last press was taken.</summary>
    protected bool Accepted { get; private set; }

    /// <summary>Says something where answers stand, without a command.</summary>
    protected void Say(bool accepted, string message) => (Accepted, Answer) = (accepted, message);

    /// <summary>Submits a command and keeps its answer.</summary>
    protected async Task SubmitAsync(PackCommand command)
    {
        using var patience = new CancellationTokenSource(Patience);
        try
        {
            var answer = await Door.SubmitAsync(command, patience.Token);
            (Accepted, Answer) = (answer.Accepted, answer.Message);
        }
        catch (OperationCanceledException)
        {
            (Accepted, Answer) = (false, T("No answer from the program within 5\u202fs: press again, and look at Instruments if that does not help."));
        }

        StateHasChanged();
    }
}
