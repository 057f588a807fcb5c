using System.CommandLine;
using CellWatch.Host.CommandLine;

var root = new RootCommand(
    "CellWatch reads every cell of a battery pack, judges it, keeps it and shows it. "
    + "It supervises and advises. It never replaces fuses, contactors, a hardware cut-off, local codes or a licensed person.")
{
    DemoCommand.Create(),
    ServeCommand.Create(),
    NewCommand.Create(),
    CheckCommand.Create(),
    PortsCommand.Create(),
    DecodeCommand.Create(),
    AssessCommand.Create(),
    SourcesCommand.Create(),
    LogCommand.Create(),
    BenchCommand.Create(),
    SimulateCommand.Create(),
};
return await root.Parse(args).InvokeAsync();
