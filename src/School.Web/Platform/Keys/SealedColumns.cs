using System.Security.Cryptography;
using Npgsql;
using School.Web.Platform.Security;

namespace School.Web.Platform.Keys;

/// <summary>A column whose values are sealed. Its module names it, so that they can be sealed anew.</summary>
/// <param name="Table">With its schema.</param>
/// <param name="Column">A text column.</param>
/// <param name="Where">Which of its rows, where not all.</param>
internal sealed record SealedColumn(string Table, string Column, string Where = "TRUE");

/// <summary>Goes through every sealed value. Names of tables come from the program's own modules alone.</summary>
internal sealed class SealedColumns(IEnumerable<SealedColumn> columns, Sealer sealer)
{
    /// <summary>Seals with the present key what an older one sealed; how many values that were.</summary>
    public async Task<int> SealAnewAsync(string connectionString, CancellationToken cancel)
    {
        await using var connection = new NpgsqlConnection(connectionString);
        await connection.OpenAsync(cancel);
        var anew = 0;
        foreach (var column in columns)
        {
            foreach (var old in await ValuesAsync(connection, column, cancel))
            {
                if (sealer.IsPresent(old) || Opened(old) is not { } plain)
                {
                    continue;
                }

                // The sealed text is unlike any other, so it names its row; one that was changed meanwhile stays.
                await using var update = new NpgsqlCommand($"UPDATE {column.Table} SET {column.Column} = $1 WHERE {column.Column} = $2", connection)
                {
                    Parameters = { new() { Value = sealer.Seal(plain)! }, new() { Value = old } },
                };
                anew += await update.ExecuteNonQueryAsync(cancel);
            }
        }

        return anew;
    }

    private string? Opened(string value)
    {
        try
        {
            return sealer.Open(value);
        }
        catch (CryptographicException)
        {
            return null;
        }
    }

    private static async Task<List<string>> ValuesAsync(NpgsqlConnection connection, SealedColumn column, CancellationToken cancel)
    {
        List<string> values = [];
        await using var command = new NpgsqlCommand($"SELECT {column.Column} FROM {column.Table} WHERE {column.Column} <> '' AND {column.Where}", connection);
        await using var rows = await command.ExecuteReaderAsync(cancel);
        while (await rows.ReadAsync(cancel))
        {
            values.Add(rows.GetString(0));
        }

        return values;
    }
}
