namespace CellWatch.Core.Pack;

/// <summary>One module as it stands in the string.</summary>
/// <param name="Id">Its identity.</param>
/// <param name="Topology">How its cells are joined.</param>
/// <param name="TemperatureSensors">How many temperature sensors it carries, 0 to 16.</param>
/// <param name="Slot">Its place, counted from 1 in physical order.</param>
/// <param name="Box">The box or bay it sits in, in words (<c>fore</c>); empty where there is only one.</param>
public sealed record PackModule(ModuleId Id, ModuleTopology Topology, int TemperatureSensors, int Slot, string Box = "")
{
    /// <summary>Most temperature sensors a module may carry.</summary>
    public const int MaxTemperatureSensors = 16;

    /// <summary>The slot in words: <c>slot 4 fore</c>.</summary>
    public string SlotInWords => Box.Length == 0 ? T($"slot {Slot}") : T($"slot {Slot} {Box}");
}
