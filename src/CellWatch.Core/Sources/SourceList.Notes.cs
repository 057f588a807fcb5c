using CellWatch.Core.Estimation.Ocv;

namespace CellWatch.Core.Sources;

public static partial class SourceList
{
    private static SourceNote[] Statistics =>
    [
        new("Median, MAD, modified z-score", "Telling one cell from its siblings.",
            "Iglewicz and Hoaglin 1993, as given in the NIST/SEMATECH e-Handbook 1.3.5.17 (secondary reading).", "Handbook data of Tietjen and Moore; twelve cells by hand."),
        new("Hampel filter", "Display and statistics, never the safety path.", "Common signal-processing definition, k = 3, n = 3, 1.4826.", "Seven values by hand."),
        new("Grubbs' test with Student's t", "One outlier in a small set.", "NIST/SEMATECH e-Handbook 1.3.5.17.1, formula from memory; t by the incomplete beta function (Abramowitz and Stegun 26.5.8, from memory).",
            "Handbook example; critical values for 3 to 216 values; printed t table."),
        new("Straight-line regression", "Links, tapers, slopes at rest.", "Textbook least squares from centred sums.", "NIST StRD Norris, certified digits."),
        new("Running mean and deviation", "Streams of readings.", "Welford, Technometrics 1962 (from memory).", "NIST StRD NumAcc1 to NumAcc4."),
        new("Small dense least squares", "Four signatures; capacity from pulses.", "One-sided Jacobi singular values (Hestenes 1958, from memory), columns scaled; refusal above a condition number of 1e6 is an own rule.",
            "Worked example of four causes."),
        new("Quantiles", "Bands.", "Definition 7 of Hyndman and Fan 1996 (from memory).", "By hand."),
    ];

    private static SourceNote[] Curves =>
    [
        .. OcvCurves.All.Select(c => new SourceNote($"Open-circuit voltage curve {c.Name}", $"Charge from voltage of a cell like {c.Chemistry}; a stand-in for any other cell.", c.Source, "Lookup values computed independently; tables compared with the reference files.")),
        new("Curve learned from own rests", "Charge from voltage of your own cell.", "Laboratory practice; doubt between rests from the bend of the curve (error bound of linear interpolation).", "Rests of a recorded pulse test of an EV cell (doi 10.5281/zenodo.2580327)."),
        new("\"Cannot tell here\"", "Refusing a charge from voltage below 2 mV per percent.", "Own rule.", "Plateau of the iron-phosphate curve."),
    ];

    private static SourceNote[] Estimation =>
    [
        new("Equivalent circuit, exact update", "Predicting voltage under current.", "Standard linear systems; Thevenin model as in He, Qin, Sun, Shui, Energies 6 (2013) 5088 (first page read).", "Worked example, ten steps against one."),
        new("Extended Kalman filter of charge", "Charge of every cell.", "Textbook form; approach of Plett, J. Power Sources 134 (2004) 252-292 (from memory).", "Worked step to all digits; recorded runs at 40 degC, 1C and 2C."),
        new("Honest deviation of charge", "The +- beside every charge.", "Sensitivity to a constant model error as in a consider filter (Schmidt 1966, from memory), one sign; correlation time, model error and capacity term chosen by trial on three recorded runs.",
            "Share of rows within two sigma on those runs."),
        new("Curve does not fit this cell", "Flag on a cell.", "Own rule: error of prediction in multiples of what curve and resistance may be wrong by.", "Recorded runs with the right curve and with another cell's."),
        new("Reset at rest", "Charge at rest.", "Limits 4 and 1 uV/s from gauge manuals SLUUCH2 and SLUUB65B; C/20 on entry, SLUSBZ5D; half an hour is an own rule.", "Worked example."),
        new("Coulomb counting", "Charge moved.", "Trapezoid rule; gaps under current stay unknown (own rule).", "Integrals with exact answers."),
        new("Resistance from steps of current", "Resistance of every cell by temperature and charge.", "Form of the vehicle-battery pulse manuals (from memory); flatness of 2 % is an own rule.", "Simulated cells; 134 pulses of the reference files."),
        new("Pulse power", "Power a cell can give or take.", "Pulse manuals of vehicle batteries (from memory); drift of the open-circuit voltage after arXiv 2505.06410.", "Worked example."),
        new("Capacity by total least squares", "Capacity of every cell between rests.", "Plett, J. Power Sources 196 (2011) 2319-2331 (citation read; recursion checked against a public implementation).", "Two worked examples."),
        new("Four signatures", "Telling charge offset, capacity, leak and resistance apart.", "Own derivation from the circuit model.", "Worked example."),
        new("Self-discharge against siblings", "Finding a leaking cell.", "Least squares, Student's t shared out over all cells (Bonferroni), widened for autocorrelation (textbook, from memory); 48 h and 5 mA are common practice.", "Simulated ten-day rests."),
        new("Balancing arithmetic", "Hours and heat of a bleed.", "Ohm's law.", "Worked examples."),
        new("Taper fit", "End of charge.", "Exponential fall at constant voltage; not used to predict below an R squared of 0.98 (own rule).", "Worked examples; tapers of the reference files."),
        new("Allowed charge current", "Current at which no cell passes a limit.", "Ohm's law on the circuit model.", "Worked example."),
        new("Charge against temperature", "Cutting charge back.", string.Join(" ", CellWatch.Core.Estimation.ChargeTemperatureProfile.All.Select(p => $"{p.Name}: {p.Source}")), "Zone bounds."),
        new("Thermistors and platinum sensors", "Temperatures.", "Beta, Steinhart-Hart, makers' four-term form; IEC 60751 constants as printed in public tables (standard not opened).", "Makers' tables of two parts; printed platinum tables."),
        new("Heat of a cell", "Heat the current cannot explain.", "Heat balance after Bernardi, Pawlikowski and Newman 1985 (from memory); entropy of graphite after Thomas and Newman 2003.", "Worked examples."),
        new("Pack arithmetic", "Usable charge, joining in parallel, axle loads.", "Circuit theory, moments.", "Worked examples."),
    ];

    private static SourceNote[] Safety =>
    [
        new("Isolation by a known resistor", "Isolation of the poles.", "UN R100 revision 2, measurement annex, points 1.2.3 (as reproduced in public texts). Informs only; a licensed person judges.", "Worked examples, also with a real meter."),
        new("Pre-charge", "Reference of the link voltage.", "First-order circuit; 5 tau as in TIDUF73.", "Published example of a resistor maker; worked example."),
    ];

    private static SourceNote[] Reading =>
    [
        new("Sense connection check", "Refusing a resistance no cell has.", "Own rule: resistance times capacity above 1 V at 1C.", "One recorded run with a bad connection, twelve sound ones."),
        new("Remaining charge from the tail", "What the other cells had left.", "Own method; shares of doubt chosen on three discharges of one string.", "The same string at three rates."),
        new("Relaxation is not a leak", "Refusing a leak figure.", "Own rule: slope against the part before, 48 h, siblings, temperature.", "A recorded 48 h rest."),
        new("Capacity from pulses", "Ranking cells, where it works.", "Least squares with leave-one-out error.", "Retired cells of two chemistries (Nature Communications, s41467-024-54454-0)."),
    ];
}
