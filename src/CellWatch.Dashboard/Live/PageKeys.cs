namespace CellWatch.Dashboard.Live;

/// <summary>Single keys pressed on the page outside any text field, handed to the page that is open; one a circuit.</summary>
public sealed class PageKeys
{
    /// <summary>Raised with the key's name as the browser gives it.</summary>
    public event Func<string, Task>? Pressed;

    /// <summary>Hands a key on.</summary>
    public Task PressAsync(string key) => Pressed?.Invoke(key) ?? Task.CompletedTask;
}
