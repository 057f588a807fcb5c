using CellWatch.EndToEnd.Tests.Support;
using Microsoft.Playwright;

namespace CellWatch.EndToEnd.Tests.Browser;

/// <summary>Acceptance stories of the Proofs page, walked through in the browser on a demo of their own.</summary>
[Collection(BrowserCollection.Name)]
public sealed class ProofStoryTests(DemoInBrowser demo)
{
    /// <summary>
    /// Story 18. The readings of the trade's example (the-job section 11, after UN R100 revision 2) by the form: first with the resistor on the wrong side, then with
    /// readings that add up to more than the pack, each refused at its field with nothing lost; then right.
    /// </summary>
    [BrowserFact]
    public async Task An_isolation_fault_is_found_by_arithmetic_and_impossible_readings_are_refused_where_they_were_typed()
    {
        await using var service = StoryDemo.Start("1");
        await using var page = await StoryDemo.OpenProofsAsync(demo, service);
        await page.Page.GetByText("isolation proven").First.ClickAsync();
        var form = page.Page.Locator(".isolation");
        await OpenAsync(form.Locator(".isolation-start"));
        var before = await KeptTestsAsync(service);

        // Cautions come before the first field.
        var text = await form.Locator(".isolation-start").InnerTextAsync();
        Assert.Contains("can kill", text, StringComparison.Ordinal);
        Assert.Contains("never replaces that person", text, StringComparison.Ordinal);
        Assert.True(text.IndexOf("can kill", StringComparison.Ordinal) < text.IndexOf("Pack voltage", StringComparison.Ordinal));
        Assert.Contains("Lock the power out", text, StringComparison.Ordinal);

        foreach (var (field, typed) in new[] { ("PackV", "400"), ("MinusToBodyV", "100"), ("PlusToBodyV", "300"), ("KnownOhm", "200") }) await form.Locator("#" + field).FillAsync(typed);
        await form.Locator("#KnownAtMinus").SelectOptionAsync("minus");
        await form.Locator("#WithKnownV").FillAsync("150");
        await KeepAsync(form);
        await form.Locator("#KnownAtMinus-fault").WaitForAsync();
        Assert.Contains("The known resistor belongs on the side with the larger reading, here plus to body", await form.Locator("#KnownAtMinus-fault").InnerTextAsync(), StringComparison.Ordinal);

        await form.Locator("#KnownAtMinus").SelectOptionAsync("plus");
        await form.Locator("#MinusToBodyV").FillAsync("250");
        await KeepAsync(form);
        await form.Locator("#PlusToBodyV-fault").WaitForAsync();
        Assert.Contains("add up to more than the pack voltage, which is impossible", await form.Locator("#PlusToBodyV-fault").InnerTextAsync(), StringComparison.Ordinal);
        Assert.Equal("150", await form.Locator("#WithKnownV").InputValueAsync());
        Assert.Equal("200", await form.Locator("#KnownOhm").InputValueAsync());
        Assert.Equal(before, await KeptTestsAsync(service));

        await form.Locator("#MinusToBodyV").FillAsync("100");
        await KeepAsync(form);
        await page.Page.WaitForFunctionAsync("() => /667.ohm.V/.test(document.querySelector('.isolation-result').textContent)");
        var result = (await form.Locator(".isolation-result").InnerTextAsync()).Replace('\u202f', ' ');
        Assert.Contains("267 k\u03a9", result, StringComparison.Ordinal);
        Assert.Contains("200 k\u03a9", result, StringComparison.Ordinal);
        Assert.Contains("about 25 % up from negative: group 27, module at slot 5", result, StringComparison.Ordinal);
        Assert.Contains("Two leaks would look the same", result, StringComparison.Ordinal);
        Assert.Equal(before + 1, await KeptTestsAsync(service));
        Assert.Empty(page.Complaints);
    }

    private static Task KeepAsync(ILocator form) => form.GetByRole(AriaRole.Button, new() { Name = "Judge and keep the test" }).ClickAsync();

    private static async Task OpenAsync(ILocator details)
    {
        if (await details.GetAttributeAsync("open") is null) await details.Locator("summary").First.ClickAsync();
    }

    private static async Task<int> KeptTestsAsync(ServiceProcess service) =>
        System.Text.Json.Nodes.JsonNode.Parse(await service.Http.GetStringAsync("/bench/isolation"))!.AsArray().Count;
}
