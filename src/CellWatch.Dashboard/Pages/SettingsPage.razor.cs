using System.Collections.Immutable;
using CellWatch.Core.Commands;
using CellWatch.Core.Settings;
using CellWatch.Dashboard.Parts;
using CellWatch.Dashboard.Texts;
using Microsoft.AspNetCore.Components;
using MudBlazor;

namespace CellWatch.Dashboard.Pages;

/// <summary>The settings of the site file. A value is checked when it is typed, and once more with all others before it is written.</summary>
public sealed partial class SettingsPage
{
    private static readonly ImmutableArray<string> YesNo = ["yes", "no"];

    private readonly Dictionary<string, string> _typed = new(StringComparer.Ordinal);
    private IReadOnlyList<SettingView> _settings = [];
    private IReadOnlyList<SettingFault> _faults = [];
    private bool _byThePack;

    [Inject] private IServiceProvider Services { get; set; } = null!;

    [Inject] private IDialogService Dialogs { get; set; } = null!;

    private ISettingsDesk? Desk => (ISettingsDesk?)Services.GetService(typeof(ISettingsDesk));

    // Asked once a look: the desk reads the site file to answer it.
    private string? _closed;

    private bool Closed => _closed is not null;

    private int Waiting => _settings.Count(s => s.Written != s.Running);

    private IEnumerable<SettingView> Changes => _settings.Where(IsTyped);

    private string Headline => Desk is not { } desk ? T("There is no site file here, so there are no settings to show.")
        : _closed is { } closed ? closed
        : Waiting > 0 ? T($"{Figures.Count(Waiting, T("change"), T("changes"))} in {Path.GetFileName(desk.File)} {(Waiting == 1 ? T("waits") : T("wait"))} for the next start of the program.")
        : T($"The program runs with what {Path.GetFileName(desk.File)} says.");

    private string Next => _faults.Count > 0 ? T($"mend what is marked: {_faults[0].Message}")
        : _typed.Count > 0 ? T("write the changes to the site file; they hold from the next start.")
        : Waiting > 0 && !Closed ? T("start the program again when no charge runs: end it with Ctrl+C and start serve, or restart its service. Until then it goes by the old values.")
        : "";

    private string Nothing => Closed ? T("These are the values it goes by.") : T("Nothing waits. A change is written into the file, comments stay, and holds from the next start.");

    /// <inheritdoc/>
    protected override void OnInitialized() => ReadAgain();

    /// <inheritdoc/>
    protected override void OnParametersSet() => _byThePack = true;

    // Scans come twice a second and change nothing here: only a press or a typed value draws the page again.
    /// <inheritdoc/>
    protected override bool ShouldRender()
    {
        var only = _byThePack;
        _byThePack = false;
        return !only;
    }

    /// <inheritdoc/>
    protected override void OnAfterRender(bool firstRender) => _byThePack = false;

    private void ReadAgain() => (_settings, _closed) = (Desk?.Read() ?? [], Desk?.Closed);

    private bool IsTyped(SettingView setting) => _typed.ContainsKey(setting.Name);

    private string Typed(SettingView setting) => _typed.GetValueOrDefault(setting.Name, setting.Written);

    private SettingFault? FaultOf(SettingView setting) => _faults.FirstOrDefault(f => f.Name == setting.Name);

    private void Type(SettingView setting, ChangeEventArgs e)
    {
        var value = (e.Value?.ToString() ?? "").Trim();
        if (value == setting.Written) _typed.Remove(setting.Name);
        else _typed[setting.Name] = value;
        _faults = _typed.Count == 0 ? [] : Desk!.Check(_typed);
    }

    private void Forget()
    {
        _typed.Clear();
        _faults = [];
        ReadAgain();
    }

    private async Task WriteAsync()
    {
        if (Person.Name.Length == 0) await NameDialog.AskAsync(Dialogs, Person);
        if (Person.Name.Length == 0)
        {
            Say(false, T("Not written: type your name first. A change of settings is kept with who made it."));
            return;
        }

        await SubmitAsync(new ChangeSettings([.. Changes.Select(s => new SettingChange(s.Name, s.Written, Typed(s)))], Person.Name));
        if (Accepted) Forget();
        else ReadAgain();
    }

    private string Words(SettingView s) => T($"{s.Label} {Said(s.Written)} to {Said(Typed(s))}{(s.Unit.Length > 0 ? Figures.Thin + s.Unit : "")}");

    private static string Allowed(SettingView s) => s.Kind == SettingKind.Choice ? string.Join(", ", s.Choices.Select(Said)) : s.Allowed;

    private static string Said(string value) => value switch { "" => T("none"), "chargeController" => T("charge controller"), _ => value };

    private static string Id(SettingView setting, string part = "in") => $"{part}-{setting.Name.Replace('.', '-')}";
}
