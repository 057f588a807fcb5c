using CellWatch.Core.Bench.Project;
using CellWatch.Core.Register;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Parts;
using Microsoft.AspNetCore.Components;
using Microsoft.Extensions.DependencyInjection;
using MudBlazor;

namespace CellWatch.Dashboard.BenchPages;

/// <summary>
/// A page on the bench's records: reads them when something was entered, not at every scan, and keeps the answer to the last entry. An entry
/// without a typed name first asks for one.
/// </summary>
public abstract class BenchPage : ComponentBase, IDisposable
{
    private IBenchDesk? _desk;

    /// <summary>What all parts show now.</summary>
    [CascadingParameter]
    public Picture Picture { get; set; } = null!;

    [Inject]
    private IServiceProvider Services { get; set; } = null!;

    /// <summary>Who presses.</summary>
    [Inject]
    protected PersonAtThePage Person { get; set; } = null!;

    /// <summary>Dialogs.</summary>
    [Inject]
    protected IDialogService Dialogs { get; set; } = null!;

    /// <summary>The bench; null where the program runs without one.</summary>
    protected IBenchDesk? Desk => _desk;

    /// <summary>The answer to the last entry; empty before the first.</summary>
    protected string Answer { get; private set; } = "";

    /// <summary>Whether the last entry was taken.</summary>
    protected bool Accepted { get; private set; }

    /// <summary>The field at fault of a refused entry, by its name in the entry; null where it is the whole.</summary>
    protected string? RefusedField { get; private set; }

    /// <summary>Whether the records on show hold a simulated figure.</summary>
    protected bool SimulatedRecords { get; private set; }

    /// <summary>Why there is nothing to show yet; null when there is.</summary>
    protected string? Waiting => _desk is null ? T("This program runs without bench records.") : _desk.Preparing is { } doing ? T($"Not yet: {doing}") : null;

    /// <summary>Takes from the project what the page shows.</summary>
    protected abstract void Look(BenchProject project);

    /// <inheritdoc/>
    protected override void OnInitialized()
    {
        _desk = Services.GetService<IBenchDesk>();
        if (_desk is null) return;
        _desk.Changed += OnChanged;
        LookAgain();
    }

    /// <inheritdoc/>
    protected override void OnParametersSet() => LookWhenChanged();

    /// <summary>Reads the records again.</summary>
    protected void LookAgain()
    {
        if (_desk is null || _desk.Preparing is not null) return;
        _desk.Read(p =>
        {
            SimulatedRecords = p.AnySimulated;
            Look(p);
            return true;
        });
    }

    /// <summary>Called when a parameter of the page may have changed; reads again where the page depends on one.</summary>
    protected virtual void LookWhenChanged()
    {
    }

    /// <summary>Enters something and keeps what is said about it. Asks for a name first where none was typed.</summary>
    /// <returns>Whether it was taken.</returns>
    protected async Task<bool> EnterAsync(Func<BenchProject, Stamp, string> enter) => _desk is not null && await ActAsync(by => _desk.Enter(by, enter));

    /// <summary>Does something under the typed name that is not itself an entry, and keeps what is said about it.</summary>
    /// <returns>Whether it was taken.</returns>
    protected Task<bool> ActAsync(Func<string, string> act) => ActAsync(by => Task.FromResult(act(by)));

    /// <summary>The same for something that takes a while.</summary>
    /// <returns>Whether it was taken.</returns>
    protected async Task<bool> ActAsync(Func<string, Task<string>> act)
    {
        if (Person.Name.Length == 0) await NameDialog.AskAsync(Dialogs, Person);
        try
        {
            (Answer, Accepted, RefusedField) = (await act(Person.Name), true, null);
        }
        catch (RefusedException refused)
        {
            (Answer, Accepted, RefusedField) = (refused.Message, false, refused.Field);
        }

        return Accepted;
    }

    /// <summary>Works something out without keeping it.</summary>
    /// <returns>Whether it could be.</returns>
    protected bool Try(Action<BenchProject> work)
    {
        try
        {
            _desk?.Read(p =>
            {
                work(p);
                return true;
            });
            (Answer, Accepted) = ("", true);
        }
        catch (RefusedException refused)
        {
            (Answer, Accepted) = (refused.Message, false);
        }

        return Accepted;
    }

    /// <summary>Leaves the answer to the part that asked, so that it is not said twice.</summary>
    protected (string Said, bool Taken, string? Field) HandAnswerOver()
    {
        var answer = (Answer, Accepted, RefusedField);
        (Answer, Accepted, RefusedField) = ("", true, null);
        return answer;
    }

    private void OnChanged() => _ = InvokeAsync(() =>
    {
        LookAgain();
        StateHasChanged();
    });

    /// <inheritdoc/>
    public virtual void Dispose()
    {
        if (_desk is not null) _desk.Changed -= OnChanged;
        GC.SuppressFinalize(this);
    }
}
