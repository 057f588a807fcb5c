using CellWatch.Core.Snapshots;
using CellWatch.Log.Codec;
using CellWatch.Testing;
using CsCheck;
using Xunit;
using Xunit.Abstractions;

namespace CellWatch.Log.Tests.Codec;

public sealed class ChunkTests(ITestOutputHelper output)
{
    [Fact]
    public void Ten_minutes_of_a_charge_come_back_bit_for_bit()
    {
        var pack = new SyntheticPack();
        AssertRoundTrip(pack.Next(600), Resolutions(pack.Map));
    }

    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(37)]
    public void Short_chunks_come_back_bit_for_bit(int snapshots)
    {
        var pack = new SyntheticPack(modules: 3);
        AssertRoundTrip(pack.Next(snapshots), Resolutions(pack.Map));
    }

    [Theory]
    [InlineData(10_000, 1.25)]
    [InlineData(1_000, 1.25)]
    public void A_charge_stays_below_its_entropy_and_a_quarter(double cellStepsPerV, double limit)
    {
        var pack = new SyntheticPack { CellStepsPerV = cellStepsPerV };
        var resolutions = Resolutions(pack.Map);
        var encoder = new ChunkEncoder();
        pack.Next(600);
        var snapshots = pack.Next(600);
        var bytes = encoder.Encode(snapshots, new ChunkPlace(1, 1, 0), resolutions).Length;
        var entropyBytes = FirstDifferenceEntropy.Bytes(snapshots);
        output.WriteLine($"{cellStepsPerV}: {bytes} bytes, entropy {entropyBytes:F0}, ratio {bytes / entropyBytes:F3}");
        Assert.True(bytes <= limit * entropyBytes, $"{bytes} bytes are {bytes / entropyBytes:F3} times the entropy");
    }

    [Fact]
    public void Values_off_the_grid_and_beyond_it_come_back_bit_for_bit()
    {
        double[] odd = [0.0, -0.0, double.Epsilon, -double.Epsilon, double.MaxValue, double.MinValue, double.PositiveInfinity, double.NegativeInfinity, Math.PI, 1e300, 36512 * 0.0001, 0.1 + 0.2];
        var turn = 0;
        var pack = new SyntheticPack(modules: 1)
        {
            Disturb = b =>
            {
                for (var c = 0; c < 4; c++) b.Values[c] = odd[(turn + c) % odd.Length];
                turn++;
            },
        };
        AssertRoundTrip(pack.Next(100), Resolutions(pack.Map));
    }

    [Fact]
    public void Dropped_boards_and_every_quality_come_back_exactly()
    {
        var turn = 0;
        var pack = new SyntheticPack(modules: 4)
        {
            Disturb = b =>
            {
                turn++;
                if (turn is > 50 and < 90)
                    for (var c = 0; c < 12; c++)
                    {
                        b.Values[c] = double.NaN;
                        b.Qualities[c] = Quality.Missing;
                        b.Origins[c] = Origin.Unknown;
                    }

                b.Qualities[13] = (Quality)(turn % 7);
                b.Origins[14] = (Origin)(turn % 5);
                b.Proven[15] = turn % 3 == 0;
                if (turn % 11 == 0) b.Values[16] = double.NaN;
            },
        };
        AssertRoundTrip(pack.Next(200), Resolutions(pack.Map));
    }

    [Fact]
    public void Any_snapshots_come_back_bit_for_bit()
    {
        var value = Gen.OneOf(Gen.Int[-50_000, 50_000].Select(i => i / 10_000.0), Gen.Double, Gen.Const(double.NaN), Gen.Const(3.7));
        var channel = Gen.Select(value, Gen.Int[0, 6], Gen.Int[0, 4], Gen.Bool);
        var pack = new SyntheticPack(modules: 1);
        var channels = pack.Map.Count;
        Gen.Select(channel.Array[channels], Gen.Long[0, 1L << 52], Gen.Long[-1L << 42, 1L << 42]).Array[1, 60].Sample(rows =>
        {
            var buffer = new SnapshotBuffer(pack.Map);
            var snapshots = rows.Select((row, i) =>
            {
                buffer.Begin(i * i, new SnapshotTime(row.Item2, row.Item3));
                for (var c = 0; c < channels; c++)
                {
                    buffer.Values[c] = row.Item1[c].Item1;
                    buffer.Qualities[c] = (Quality)row.Item1[c].Item2;
                    buffer.Origins[c] = (Origin)row.Item1[c].Item3;
                    buffer.Proven[c] = row.Item1[c].Item4;
                }

                return buffer.Freeze();
            }).ToArray();
            AssertRoundTrip(snapshots, Resolutions(pack.Map));
        }, iter: 200, threads: 1);
    }

    [Fact]
    public void Every_single_changed_bit_is_found()
    {
        var pack = new SyntheticPack(modules: 1);
        var block = new ChunkEncoder().Encode(pack.Next(20), new ChunkPlace(1, 1, 0), Resolutions(pack.Map)).ToArray();
        var decoder = new ChunkDecoder();
        for (var bit = 0; bit < 8 * block.Length; bit++)
        {
            block[bit / 8] ^= (byte)(1 << (bit % 8));
            Assert.Throws<DamagedBlockException>(() => decoder.Open(block));
            block[bit / 8] ^= (byte)(1 << (bit % 8));
        }

        decoder.Open(block);
    }

    [Fact]
    public void Every_cut_is_found()
    {
        var pack = new SyntheticPack(modules: 1);
        var block = new ChunkEncoder().Encode(pack.Next(20), new ChunkPlace(1, 1, 0), Resolutions(pack.Map)).ToArray();
        var decoder = new ChunkDecoder();
        for (var length = 0; length < block.Length; length++)
            Assert.Throws<DamagedBlockException>(() => decoder.Open(block.AsSpan(0, length)));
    }

    internal static double[] Resolutions(ChannelMap map) => [.. Enumerable.Range(0, map.Count).Select(c => map.KindOf(c) switch
    {
        ChannelKind.CellVoltage => 10_000.0,
        ChannelKind.Temperature => 100,
        ChannelKind.PackCurrent => 1000,
        ChannelKind.StringVoltage => 100,
        _ => 1,
    })];

    private static void AssertRoundTrip(Snapshot[] snapshots, double[] resolutions)
    {
        var block = new ChunkEncoder().Encode(snapshots, new ChunkPlace(7, 3, -12345), resolutions).ToArray();
        var decoder = new ChunkDecoder();
        decoder.Open(block);
        Assert.Equal(new ChunkPlace(7, 3, -12345), decoder.Place);
        Assert.Equal(snapshots.Length, decoder.Snapshots);
        Assert.Equal(snapshots.Select(s => s.Sequence), decoder.Sequence.ToArray());
        Assert.Equal(snapshots.Select(s => s.Time.ElapsedUs), decoder.ElapsedUs.ToArray());
        Assert.Equal(snapshots.Select(s => s.Time.WallUnixMs), decoder.WallUnixMs.ToArray());
        var values = new double[snapshots.Length];
        var status = new byte[snapshots.Length];
        for (var c = resolutions.Length - 1; c >= 0; c--)
        {
            decoder.Read(c, values, status);
            for (var s = 0; s < snapshots.Length; s++)
            {
                Assert.Equal(BitConverter.DoubleToInt64Bits(snapshots[s].RawValues[c]), BitConverter.DoubleToInt64Bits(values[s]));
                Assert.Equal(snapshots[s].Quality[c], Status.QualityOf(status[s]));
                Assert.Equal(snapshots[s].Origin[c], Status.OriginOf(status[s]));
                Assert.Equal(snapshots[s].Proven[c], Status.IsProven(status[s]));
            }
        }
    }
}
