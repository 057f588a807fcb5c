namespace CellWatch.Core.Estimation.Ocv;

/// <summary>Learns the curve.</summary>
public static class OcvLearning
{
}
