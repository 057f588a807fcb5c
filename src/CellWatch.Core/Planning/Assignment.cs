namespace CellWatch.Core.Planning;

/// <summary>
/// The cheapest assignment of columns to rows (each row one column, a column at most once). Source: Hungarian method in the shortest
/// augmenting path form with potentials (textbook, from memory); exact, O(rows² x columns).
/// </summary>
internal static class Assignment
{
    /// <summary>Cost that stands for "not allowed".</summary>
    public const double Forbidden = 1e9;

    /// <summary>Solves; rows at most columns. Returns the cost, or infinity when no allowed assignment exists.</summary>
    /// <param name="cost">Row after row.</param>
    /// <param name="rows">Rows.</param>
    /// <param name="columns">Columns, at least as many.</param>
    /// <param name="columnOfRow">Receives the answer.</param>
    public static double Solve(ReadOnlySpan<double> cost, int rows, int columns, Span<int> columnOfRow)
    {
        Span<double> u = stackalloc double[rows + 1];
        Span<double> v = stackalloc double[columns + 1];
        Span<int> rowOfColumn = stackalloc int[columns + 1];
        Span<int> way = stackalloc int[columns + 1];
        Span<double> least = stackalloc double[columns + 1];
        Span<bool> done = stackalloc bool[columns + 1];
        for (var row = 1; row <= rows; row++)
        {
            rowOfColumn[0] = row;
            var column = 0;
            least.Fill(double.PositiveInfinity);
            done.Clear();
            do
            {
                done[column] = true;
                int r = rowOfColumn[column], next = 0;
                var delta = double.PositiveInfinity;
                for (var j = 1; j <= columns; j++)
                {
                    if (done[j]) continue;
                    var reduced = cost[(r - 1) * columns + j - 1] - u[r] - v[j];
                    if (reduced < least[j]) (least[j], way[j]) = (reduced, column);
                    if (least[j] < delta) (delta, next) = (least[j], j);
                }

                for (var j = 0; j <= columns; j++)
                {
                    if (done[j])
                    {
                        u[rowOfColumn[j]] += delta;
                        v[j] -= delta;
                    }
                    else least[j] -= delta;
                }

                column = next;
            }
            while (rowOfColumn[column] != 0);
            while (column != 0)
            {
                rowOfColumn[column] = rowOfColumn[way[column]];
                column = way[column];
            }
        }

        double total = 0;
        for (var j = 1; j <= columns; j++)
        {
            if (rowOfColumn[j] == 0) continue;
            columnOfRow[rowOfColumn[j] - 1] = j - 1;
            total += cost[(rowOfColumn[j] - 1) * columns + j - 1];
        }

        return total >= Forbidden / 2 ? double.PositiveInfinity : total;
    }
}
