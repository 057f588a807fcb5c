using CellWatch.Dashboard.Live;
using Microsoft.AspNetCore.Components;

namespace CellWatch.Dashboard.Parts;

/// <summary>A page of words: scans come twice a second and change nothing on it, so it is drawn once.</summary>
public abstract class StillPage : ComponentBase
{
    /// <summary>What all parts show now.</summary>
    [CascadingParameter]
    public Picture Picture { get; set; } = null!;

    /// <inheritdoc/>
    protected override bool ShouldRender() => false;
}
