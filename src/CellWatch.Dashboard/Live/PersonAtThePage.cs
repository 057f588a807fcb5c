using Microsoft.JSInterop;

namespace CellWatch.Dashboard.Live;

/// <summary>
/// The name typed by the person at this page; every command carries it. Kept in the browser, one a circuit. It is not a login.
/// </summary>
public sealed class PersonAtThePage(IJSRuntime js)
{
    /// <summary>Written where nobody has typed a name: an urgent press is never held up by a question.</summary>
    public const string Unnamed = "unnamed person at a page";

    /// <summary>The name; empty while none was typed.</summary>
    public string Name { get; private set; } = "";

    /// <summary>The name as a command carries it.</summary>
    public string By => Name.Length > 0 ? Name : Unnamed;

    /// <summary>Reads the name the browser keeps.</summary>
    public async Task LoadAsync() => Name = await js.InvokeAsync<string?>("cellwatch.name") ?? "";

    /// <summary>Keeps a new name, at most 40 characters.</summary>
    public async Task SetAsync(string name)
    {
        Name = name.Trim() is { Length: > 40 } longer ? longer[..40] : name.Trim();
        await js.InvokeVoidAsync("cellwatch.setName", Name);
    }
}
