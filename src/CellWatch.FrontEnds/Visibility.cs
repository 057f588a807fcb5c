using System.Runtime.CompilerServices;

[assembly: InternalsVisibleTo("CellWatch.FrontEnds.Tests")]
[assembly: InternalsVisibleTo("CellWatch.Benchmarks")]
