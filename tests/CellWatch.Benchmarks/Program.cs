using CellWatch.Benchmarks.Log;

if (args is ["log", .. var rest]) return await LogFigures.RunAsync(rest);
BenchmarkDotNet.Running.BenchmarkSwitcher.FromAssembly(typeof(Program).Assembly).Run(args);
return 0;
