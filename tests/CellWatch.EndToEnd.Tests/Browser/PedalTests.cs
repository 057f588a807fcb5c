using CellWatch.EndToEnd.Tests.Support;

namespace CellWatch.EndToEnd.Tests.Browser;

/// <summary>A foot pedal and single keys, as a browser sends them.</summary>
[Collection(BrowserCollection.Name)]
public sealed class PedalTests(DemoInBrowser demo)
{
    private const string Keep = "localStorage.setItem('pedal', JSON.stringify({ presence: 'F9', seen: 'F8' }));";

    // Counts what goes to the program, at the one place all calls of the page pass.
    private const string Calls = """
        window.calls = [];
        Object.defineProperty(window, 'cellwatch', {
          configurable: true,
          get: () => window.ours,
          set(given) {
            window.ours = given;
            const layout = given.layout;
            given.layout = (reference, pedal) => layout({ invokeMethodAsync: (...call) => { window.calls.push(call.join(' ')); return reference.invokeMethodAsync(...call); } }, pedal);
          },
        });
        """;

    [BrowserFact]
    public async Task A_pedal_says_I_am_here_on_every_page_when_it_is_let_go()
    {
        foreach (var path in new[] { "whole-pack", "traces", "reports" })
        {
            await using var page = await demo.OpenAsync(path, script: Keep + Calls);
            await page.Page.Keyboard.DownAsync("F9");
            await Task.Delay(200);
            Assert.False(await page.Page.Locator("#press-said").IsVisibleAsync());
            await page.Page.Keyboard.UpAsync("F9");
            Assert.True(await page.BecomesAsync("/Noted[.] Next at the latest/.test(document.querySelector('#press-said').textContent)"), path);
            Assert.Equal(["PedalAsync presence"], await page.Page.EvaluateAsync<string[]>("() => calls"));
            await page.KeepPictureAsync($"pedal-{path}");
        }
    }

    [BrowserFact]
    public async Task A_held_pedal_is_one_press_at_most_and_a_stuck_one_is_said_and_counts_for_nothing()
    {
        await using var page = await demo.OpenAsync("charging", script: Keep + Calls);
        // The system repeats a held key: each of these is a keydown with `repeat` set.
        for (var i = 0; i < 20; i++) await page.Page.Keyboard.DownAsync("F9");
        Assert.Empty(await page.Page.EvaluateAsync<string[]>("() => calls"));
        Assert.True(await page.BecomesAsync("/held for longer than a press lasts/.test(document.querySelector('#press-said').textContent)") ||
            await page.BecomesAsync("/held for longer than a press lasts/.test(document.querySelector('#press-said').textContent)"));
        await page.Page.Keyboard.UpAsync("F9");
        await Task.Delay(500);
        Assert.Empty(await page.Page.EvaluateAsync<string[]>("() => calls"));
    }

    [BrowserFact]
    public async Task A_pedal_is_ignored_while_somebody_types_and_when_the_page_loses_the_keys()
    {
        await using var page = await demo.OpenAsync("traces", script: Keep + Calls);
        await page.Page.Locator(".note-text input").FocusAsync();
        await page.Page.Keyboard.PressAsync("F9");
        await page.Page.EvaluateAsync("() => document.activeElement.blur()");
        await page.Page.Keyboard.DownAsync("F9");
        await page.Page.EvaluateAsync("() => dispatchEvent(new Event('blur'))");
        await page.Page.Keyboard.UpAsync("F9");
        await Task.Delay(300);
        Assert.Empty(await page.Page.EvaluateAsync<string[]>("() => calls"));
    }

    [BrowserFact]
    public async Task The_keys_h_and_Space_ask_once_however_long_they_are_held()
    {
        await using var page = await demo.OpenAsync("charging", script: Calls);
        for (var i = 0; i < 20; i++) await page.Page.Keyboard.DownAsync("h");
        await page.Page.Keyboard.UpAsync("h");
        Assert.True(await page.BecomesAsync("/Noted[.]/.test(document.querySelector('.answer-line')?.textContent ?? '')"));
        Assert.Equal(["KeyAsync h"], await page.Page.EvaluateAsync<string[]>("() => calls"));

        await using var preview = ServiceProcess.StartPreview(ServiceProcess.FreePort(), "flood");
        await preview.GetWhenUpAsync("/alarms");
        await using var alarms = await demo.OpenAsync("alarms", demo: preview, script: Calls);
        await alarms.Page.EvaluateAsync("() => document.activeElement.blur()");
        for (var i = 0; i < 20; i++) await alarms.Page.Keyboard.DownAsync(" ");
        await alarms.Page.Keyboard.UpAsync(" ");
        Assert.Equal(["KeyAsync  "], await alarms.Page.EvaluateAsync<string[]>("() => calls"));
    }

    [BrowserFact]
    public async Task A_pedal_is_learned_on_settings_and_in_force_at_once()
    {
        await using var page = await demo.OpenAsync("settings", script: Calls);
        await page.Page.Locator("[data-learn=presence]").ClickAsync();
        Assert.True(await page.BecomesAsync("/Press the pedal now/.test(document.querySelector('[data-learn=presence]').textContent)"));
        await page.Page.Keyboard.PressAsync("F9");
        Assert.True(await page.BecomesAsync("/F9 is kept in this browser/.test(document.querySelector('.this-browser .answer-line')?.textContent ?? '')"));
        Assert.Empty(await page.Page.EvaluateAsync<string[]>("() => calls"));
        await page.KeepPictureAsync("settings-pedal");
        await page.GoAsync("bench");
        await page.Page.Keyboard.PressAsync("F9");
        Assert.True(await page.BecomesAsync("/Noted[.]/.test(document.querySelector('#press-said').textContent)"));
    }
}
