using MudBlazor;

namespace CellWatch.Dashboard.Theme;

/// <summary>
/// The component library dressed in the tokens of <c>wwwroot/tokens.css</c>: no elevation, no uppercase, 2 px corners. A test holds the
/// two in step.
/// </summary>
public static class CellWatchTheme
{
    private static readonly string[] Face = ["Inter", "system-ui", "Segoe UI Variable Text", "Segoe UI", "Noto Sans", "sans-serif"];

    /// <summary>The theme with both palettes.</summary>
    public static MudTheme Theme { get; } = new()
    {
        PaletteLight = new PaletteLight
        {
            Background = "#E9E7E1",
            Surface = "#F7F5F0",
            DrawerBackground = "#E9E7E1",
            AppbarBackground = "#E9E7E1",
            TextPrimary = "#1B1E21",
            TextSecondary = "#4C5258",
            DrawerText = "#1B1E21",
            AppbarText = "#1B1E21",
            Primary = "#0A5A88",
            PrimaryContrastText = "#FFFFFF",
            Secondary = "#3B444D",
            Info = "#0A5A88",
            Error = "#A3200C",
            ErrorContrastText = "#FFFFFF",
            Warning = "#7A5200",
            Success = "#00634A",
            LinesDefault = "#CFCBC2",
            LinesInputs = "#74787C",
            TableLines = "#CFCBC2",
            Divider = "#CFCBC2",
            ActionDefault = "#1B1E21",
            ActionDisabled = "#74787C",
            TextDisabled = "#74787C",
        },
        PaletteDark = new PaletteDark
        {
            Background = "#14171A",
            Surface = "#1E2327",
            DrawerBackground = "#14171A",
            AppbarBackground = "#14171A",
            TextPrimary = "#EAE7E1",
            TextSecondary = "#AEB4B9",
            DrawerText = "#EAE7E1",
            AppbarText = "#EAE7E1",
            Primary = "#74BDE6",
            PrimaryContrastText = "#14171A",
            Secondary = "#BBC3C9",
            Info = "#74BDE6",
            Error = "#FF8A6B",
            ErrorContrastText = "#14171A",
            Warning = "#EFC153",
            Success = "#55C5A0",
            LinesDefault = "#363D43",
            LinesInputs = "#7C848A",
            TableLines = "#363D43",
            Divider = "#363D43",
            ActionDefault = "#EAE7E1",
            ActionDisabled = "#7C848A",
            TextDisabled = "#7C848A",
        },
        LayoutProperties = new LayoutProperties { DefaultBorderRadius = "2px" },
        Shadows = new Shadow { Elevation = [.. Enumerable.Repeat("none", 26)] },
        Typography = new Typography
        {
            Default = new DefaultTypography { FontFamily = Face, FontSize = "16px", LineHeight = "1.4", LetterSpacing = "normal" },
            Button = new ButtonTypography { FontFamily = Face, FontSize = "16px", FontWeight = "600", TextTransform = "none", LetterSpacing = "normal" },
            H6 = new H6Typography { FontFamily = Face, FontSize = "20px", FontWeight = "600", LetterSpacing = "normal" },
            Body1 = new Body1Typography { FontFamily = Face, FontSize = "16px", LetterSpacing = "normal" },
            Body2 = new Body2Typography { FontFamily = Face, FontSize = "14px", LetterSpacing = "normal" },
            Caption = new CaptionTypography { FontFamily = Face, FontSize = "14px", LetterSpacing = "normal" },
        },
    };
}
