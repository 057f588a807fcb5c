using Microsoft.Data.Sqlite;

namespace CellWatch.Log.Store;

/// <summary>The few ways in which statements are run here.</summary>
internal static class Sql
{
    /// <summary>Runs a statement that gives nothing.</summary>
    public static int Run(this SqliteConnection connection, string sql, params ReadOnlySpan<(string Name, object? Value)> parameters)
    {
        using var command = connection.With(sql, parameters);
        return command.ExecuteNonQuery();
    }

    /// <summary>The single whole number a statement gives.</summary>
    public static long Number(this SqliteConnection connection, string sql, params ReadOnlySpan<(string Name, object? Value)> parameters) =>
        connection.MaybeNumber(sql, parameters) ?? throw new InvalidDataException($"'{sql}' gave nothing");

    /// <summary>The single whole number a statement gives; null where it gives none.</summary>
    public static long? MaybeNumber(this SqliteConnection connection, string sql, params ReadOnlySpan<(string Name, object? Value)> parameters)
    {
        using var command = connection.With(sql, parameters);
        return command.ExecuteScalar() as long?;
    }

    /// <summary>A command ready to run.</summary>
    public static SqliteCommand With(this SqliteConnection connection, string sql, params ReadOnlySpan<(string Name, object? Value)> parameters)
    {
        var command = connection.CreateCommand();
        // Every statement in this project is a constant or put together from constants.
#pragma warning disable CA2100
        command.CommandText = sql;
#pragma warning restore CA2100
        foreach (var (name, value) in parameters) command.Parameters.AddWithValue(name, value ?? DBNull.Value);
        return command;
    }

    /// <summary>A column's text, empty where it is null.</summary>
    public static long? MaybeInt64(this SqliteDataReader reader, int column) => reader.IsDBNull(column) ? null : reader.GetInt64(column);

    /// <summary>A blob.</summary>
    public static byte[] Bytes(this SqliteDataReader reader, int column) => (byte[])reader.GetValue(column);
}
