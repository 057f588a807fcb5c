namespace CellWatch.Core.Estimation;

/// <summary>
/// Watches whether the curve in use fits each cell: the error of the predicted voltage, against what curve and resistance may be
/// wrong by, averaged over about one full charge of throughput. A wrong curve leaves errors many times that; a capacity wrong by a
/// fifth leaves two to three times.
/// <para>Source: own rule; limit chosen by trial on three recorded runs with the right curve and with those of two other cells.</para>
/// </summary>
internal sealed class CurveFitBank(int cells, double modelSigmaV)
{
    private const double SetAbove = 4, ClearBelow = 3, BinThroughput = 0.1;
    private const int FewestBins = 5, BinsKept = 10;
    private readonly double[] sum = new double[cells], score = new double[cells];
    private readonly int[] count = new int[cells];
    private readonly byte[] bins = new byte[cells];
    private readonly bool[] doesNotFit = new bool[cells];
    private double moved;

    public ReadOnlySpan<bool> DoesNotFit => doesNotFit;

    public ReadOnlySpan<double> Score => score;

    public void Add(int cell, double innovationV, double resistiveV)
    {
        var allowed = modelSigmaV * modelSigmaV + 0.25 * resistiveV * resistiveV;
        sum[cell] += innovationV * innovationV / allowed;
        count[cell]++;
    }

    /// <summary>Closes a bin each time a tenth of the capacity has gone through.</summary>
    public void Moved(double share)
    {
        moved += share;
        if (moved < BinThroughput) return;
        moved = 0;
        for (var k = 0; k < cells; k++)
        {
            if (count[k] == 0) continue;
            var rms = Math.Sqrt(sum[k] / count[k]);
            if (bins[k] < BinsKept) bins[k]++;
            score[k] += (rms - score[k]) / bins[k];
            doesNotFit[k] = bins[k] >= FewestBins && score[k] > (doesNotFit[k] ? ClearBelow : SetAbove);
            (sum[k], count[k]) = (0, 0);
        }
    }
}
