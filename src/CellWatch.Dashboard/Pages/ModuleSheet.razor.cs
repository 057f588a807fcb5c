using CellWatch.Core.Live;
using CellWatch.Core.Pack;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Rule;
using Microsoft.AspNetCore.Components;

namespace CellWatch.Dashboard.Pages;

/// <summary>One module, live.</summary>
public sealed partial class ModuleSheet
{
    /// <summary>The module's identity; without one the module that stands out most, else the first slot.</summary>
    [Parameter]
    public string? Id { get; set; }

    /// <summary>Cell pointed at from another page, counted from 1.</summary>
    [SupplyParameterFromQuery]
    public int? Cell { get; set; }

    [CascadingParameter] private Picture Picture { get; set; } = null!;

    [Inject] private NavigationManager Navigation { get; set; } = null!;

    [Inject] private PageKeys Keys { get; set; } = null!;

    /// <inheritdoc/>
    protected override void OnInitialized() => Keys.Pressed += KeyAsync;

    /// <inheritdoc/>
    public void Dispose() => Keys.Pressed -= KeyAsync;

    private int? Module(PackState state)
    {
        if (string.IsNullOrEmpty(Id)) return state.StandsOut.FirstOrDefault(s => s.Module is not null)?.Module ?? RuleColumns.OfCells(state.Layout)[0].Module;
        return ModuleId.IsValid(Id) && state.Layout.TryFindModule(new ModuleId(Id), out var module) ? module : null;
    }

    private static StateWord Worst(PackState state, int module)
    {
        var worst = StateWord.Normal;
        for (var cell = state.Layout.FirstCell(module); cell < state.Layout.FirstCell(module + 1); cell++)
            if (state.CellStates[cell] > worst) worst = state.CellStates[cell];
        return worst;
    }

    private static string Neighbour(PackState state, int module, int way)
    {
        var columns = RuleColumns.OfCells(state.Layout);
        var at = Array.FindIndex(columns, c => c.Module == module);
        return "module-sheet/" + columns[(at + way + columns.Length) % columns.Length].Id;
    }

    private Task KeyAsync(string key)
    {
        if (Picture.State is not { } state || Module(state) is not { } module) return Task.CompletedTask;
        var to = key switch { "PageUp" => Neighbour(state, module, -1), "PageDown" => Neighbour(state, module, 1), "Escape" => "whole-pack", _ => null };
        return to is null ? Task.CompletedTask : InvokeAsync(() => Navigation.NavigateTo(to));
    }

    private static RenderFragment Chooser(PackState state, int present) => builder =>
    {
        builder.OpenElement(0, "nav");
        builder.AddAttribute(1, "class", "module-chooser");
        builder.AddAttribute(2, "aria-label", T("Modules by slot"));
        var box = "";
        foreach (var column in RuleColumns.OfCells(state.Layout))
        {
            if (column.Box != box)
            {
                box = column.Box;
                builder.OpenElement(3, "span");
                builder.SetKey(T("box ") + box);
                builder.AddAttribute(4, "class", "s");
                builder.AddContent(5, box);
                builder.CloseElement();
            }

            builder.OpenElement(6, "a");
            builder.SetKey(column.Id);
            builder.AddAttribute(7, "href", "module-sheet/" + column.Id);
            var worst = Worst(state, column.Module);
            builder.AddAttribute(8, "class", column.Module == present ? "here" : Texts.Words.Class(worst));
            builder.AddAttribute(9, "aria-current", column.Module == present ? "page" : null);
            builder.AddContent(10, column.Id);
            builder.CloseElement();
        }

        builder.CloseElement();
    };
}
