using CellWatch.Core.Pack;

namespace CellWatch.Simulation.Model;

/// <summary>
/// Physics of one string: per cell an open-circuit voltage, one resistance that answers at once and one that lags, self-discharge and a
/// bleed switch; per module heat; per link resistance and heat. Truth, without any instrument. Arrays in string order.
/// <para>
/// <c>v = OCV(z) + R0 I + v1</c>; constant current over a step gives exactly <c>v1' = a v1 + R1 (1 - a) I</c>, <c>a = exp(-dt/tau)</c>
/// (zero-order hold, standard linear-system result), so a step may have any length while the current stands still. Heat of a cell is
/// <c>I (v - OCV)</c>, the irreversible term of the usual cell heat balance; a module and a joint are lumped masses, also solved exactly.
/// Left out: temperature in the resistances, entropy heat, hysteresis, ageing.
/// </para>
/// Positive current charges. One thread at a time. No allocation after construction.
/// </summary>
public sealed class PackModel
{
    private readonly OcvGrid _ocv;
    private readonly PackParameters _parameters;
    private readonly double[] _capacityAh;
    private readonly double[] _r0Ohm;
    private readonly double[] _r1Ohm;
    private readonly double[] _leakA;
    private readonly double[] _charge;
    private readonly double[] _laggingV;
    private readonly double[] _cellVoltageV;
    private readonly double[] _bleedA;
    private readonly bool[] _bleedOn;
    private readonly double[] _bledAh;
    private readonly double[] _loadA;
    private readonly int[] _moduleOfCell;
    private readonly double[] _moduleDegC;
    private readonly double[] _moduleHeatW;
    private readonly double[] _jointRiseK;
    private readonly double[] _linkOhm;
    private readonly double[] _coolingWPerK;

    /// <param name="layout">The string.</param>
    /// <param name="ocv">Curve of all cells.</param>
    /// <param name="cells">One for each cell, in string order.</param>
    /// <param name="parameters">Figures of the whole pack.</param>
    /// <param name="startDegC">Temperature of everything at the start.</param>
    /// <exception cref="ArgumentException">Not one set of parameters for each cell.</exception>
    public PackModel(PackLayout layout, OcvGrid ocv, IReadOnlyList<CellParameters> cells, PackParameters parameters, double startDegC)
    {
        if (cells.Count != layout.CellCount)
            throw new ArgumentException($"The layout has {layout.CellCount} cells, but parameters are given for {cells.Count}.");

        (Layout, _ocv, _parameters) = (layout, ocv, parameters);
        _capacityAh = [.. cells.Select(c => c.CapacityAh)];
        _r0Ohm = [.. cells.Select(c => c.R0Ohm)];
        _r1Ohm = [.. cells.Select(c => c.R1Ohm)];
        _leakA = [.. cells.Select(c => c.LeakA)];
        _charge = [.. cells.Select(c => c.InitialCharge)];
        _laggingV = new double[cells.Count];
        _cellVoltageV = [.. cells.Select(c => ocv.VoltageAt(c.InitialCharge))];
        _bleedA = new double[cells.Count];
        _bleedOn = new bool[cells.Count];
        _bledAh = new double[cells.Count];
        _loadA = new double[cells.Count];
        _moduleOfCell = [.. Enumerable.Range(0, cells.Count).Select(layout.ModuleOfCell)];

        var modules = layout.Modules.Length;
        _moduleDegC = new double[modules];
        _moduleHeatW = new double[modules];
        _jointRiseK = new double[modules];
        _linkOhm = new double[modules];
        _moduleDegC.AsSpan().Fill(startDegC);
        _linkOhm.AsSpan().Fill(parameters.LinkOhm);
        _coolingWPerK = new double[modules];
        for (var m = 0; m < modules; m++)
            _coolingWPerK[m] = parameters.ModuleCoolingWPerK * (parameters.CoolingFactor.IsEmpty ? 1 : parameters.CoolingFactor[m]);
        CoolantDegC = startDegC;
    }

    /// <summary>The string.</summary>
    public PackLayout Layout { get; }

    /// <summary>Current through the string in the last step, A, positive charging.</summary>
    public double PackCurrentA { get; private set; }

    /// <summary>Temperature of the coolant the modules give their heat to, degC. Set it before a step.</summary>
    public double CoolantDegC { get; set; }

    /// <summary>Voltage across each cell's own terminals at the end of the last step, V.</summary>
    public ReadOnlySpan<double> CellVoltageV => _cellVoltageV;

    /// <summary>Charge of each cell, 0 empty to 1 full; may pass both where a cell is abused.</summary>
    public ReadOnlySpan<double> Charge => _charge;

    /// <summary>Capacity of each cell, Ah.</summary>
    public ReadOnlySpan<double> CapacityAh => _capacityAh;

    /// <summary>Current each cell's bleed takes, A; 0 where its switch is off.</summary>
    public ReadOnlySpan<double> BleedA => _bleedA;

    /// <summary>Charge each cell's bleed has taken since the start, Ah.</summary>
    public ReadOnlySpan<double> BledAh => _bledAh;

    /// <summary>Whether each cell's bleed switch really is on. Set it before a step.</summary>
    public Span<bool> BleedOn => _bleedOn;

    /// <summary>Current that a load across a cell, or across the cells of a module, takes from each cell beside the string's current, A. Set it before a step.</summary>
    public Span<double> LoadA => _loadA;

    /// <summary>Resistance of the link at each module's positive end, ohm. Set it before a step.</summary>
    public Span<double> LinkOhm => _linkOhm;

    /// <summary>Temperature of each module's body, degC.</summary>
    public ReadOnlySpan<double> ModuleDegC => _moduleDegC;

    /// <summary>How much warmer than its module the joint at each module's positive end is, K.</summary>
    public ReadOnlySpan<double> JointRiseK => _jointRiseK;

    /// <summary>Heat made in the cells of each module in the last step, W.</summary>
    public ReadOnlySpan<double> ModuleHeatW => _moduleHeatW;

    /// <summary>Resistance of all links and the string's ends, ohm.</summary>
    public double StringLinksOhm
    {
        get
        {
            var sum = _parameters.StringEndsOhm;
            foreach (var ohm in _linkOhm) sum += ohm;
            return sum;
        }
    }

    /// <summary>Voltage at the string's terminals, V: the cells and, with the current, the links.</summary>
    public double StringVoltageV
    {
        get
        {
            var sum = PackCurrentA * StringLinksOhm;
            foreach (var v in _cellVoltageV) sum += v;
            return sum;
        }
    }

    /// <summary>Highest cell, V.</summary>
    public double HighestCellV
    {
        get
        {
            var highest = double.MinValue;
            foreach (var v in _cellVoltageV) highest = Math.Max(highest, v);
            return highest;
        }
    }

    /// <summary>Lowest cell, V.</summary>
    public double LowestCellV
    {
        get
        {
            var lowest = double.MaxValue;
            foreach (var v in _cellVoltageV) lowest = Math.Min(lowest, v);
            return lowest;
        }
    }

    /// <summary>Moves the pack on.</summary>
    /// <param name="packCurrentA">Current through the string all the step long, A, positive charging.</param>
    /// <param name="dtS">Length of the step, s, above 0.</param>
    public void Step(double packCurrentA, double dtS)
    {
        PackCurrentA = packCurrentA;
        StepCells(packCurrentA, dtS);
        StepHeat(packCurrentA, dtS);
    }

    private void StepCells(double packCurrentA, double dtS)
    {
        var a = Math.Exp(-dtS / _parameters.TimeConstantS);
        var hours = dtS / 3600;
        // A bleed flows through the resistor and both of the cell's leads.
        var bleedSiemens = 1 / (_parameters.BleedOhm + 2 * _parameters.SenseLeadOhm);
        _moduleHeatW.AsSpan().Clear();

        for (var k = 0; k < _charge.Length; k++)
        {
            var bleedA = _bleedOn[k] ? _cellVoltageV[k] * bleedSiemens : 0;
            var cellA = packCurrentA - bleedA - _loadA[k];
            _bleedA[k] = bleedA;
            _bledAh[k] += bleedA * hours;
            _charge[k] += (cellA - _leakA[k]) * hours / _capacityAh[k];
            _laggingV[k] = a * _laggingV[k] + _r1Ohm[k] * (1 - a) * cellA;

            var overV = _r0Ohm[k] * cellA + _laggingV[k];
            _cellVoltageV[k] = _ocv.VoltageAt(_charge[k]) + overV;
            _moduleHeatW[_moduleOfCell[k]] += cellA * overV;
        }
    }

    private void StepHeat(double packCurrentA, double dtS)
    {
        var jointDecay = Math.Exp(-dtS * _parameters.JointCoolingWPerK / _parameters.JointHeatCapacityJPerK);
        for (var m = 0; m < _moduleDegC.Length; m++)
        {
            var jointHeatW = packCurrentA * packCurrentA * _linkOhm[m];
            var jointEndK = jointHeatW / _parameters.JointCoolingWPerK;
            var fromJointW = _jointRiseK[m] * _parameters.JointCoolingWPerK;
            _jointRiseK[m] = jointEndK + (_jointRiseK[m] - jointEndK) * jointDecay;

            var endDegC = CoolantDegC + (_moduleHeatW[m] + fromJointW) / _coolingWPerK[m];
            var moduleDecay = Math.Exp(-dtS * _coolingWPerK[m] / _parameters.ModuleHeatCapacityJPerK);
            _moduleDegC[m] = endDegC + (_moduleDegC[m] - endDegC) * moduleDecay;
        }
    }
}
