global using CellWatch.Testing;
global using Xunit;
