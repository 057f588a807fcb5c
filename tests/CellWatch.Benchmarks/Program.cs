using CellWatch.Benchmarks.Log;
using CellWatch.Benchmarks.Service;

// `log` measures the cell log's files, `service wire` and `service demo` the running service; everything else is BenchmarkDotNet.
if (args is ["log", .. var log]) return await LogFigures.RunAsync(log);
if (args is ["service", .. var service]) return await ServiceFigures.RunAsync(service);
BenchmarkDotNet.Running.BenchmarkSwitcher.FromAssembly(typeof(Program).Assembly).Run(args);
return 0;
