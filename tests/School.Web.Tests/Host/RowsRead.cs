using System.Text.Json;
using Npgsql;

namespace School.Web.Tests.Host;

/// <summary>How many rows a statement reads in its tables for those that it gives, counted by the database as it carries it out.</summary>
internal sealed record RowsRead(string Text, long Read, long Given)
{
    public static async Task<RowsRead> OfAsync(NpgsqlDataSource source, Asked asked)
    {
        await using var connection = await source.OpenConnectionAsync();
        // A small table is read whole though it has an index for the question; one of many years is not.
        await using (var asLarge = new NpgsqlCommand("SET enable_seqscan = off", connection))
        {
            await asLarge.ExecuteNonQueryAsync();
        }

        await using var explain = new NpgsqlCommand($"EXPLAIN (ANALYZE, FORMAT JSON) {asked.Text}", connection);
        foreach (var parameter in asked.Parameters)
        {
            explain.Parameters.Add(parameter.Clone());
        }

        using var plan = JsonDocument.Parse((string)(await explain.ExecuteScalarAsync())!);
        var top = plan.RootElement[0].GetProperty("Plan");
        return new(asked.Text, Sum(top), Number(top, "Actual Rows"));
    }

    /// <summary>Only what stands at a table reads it; all above it works on what was read.</summary>
    private static long Sum(JsonElement node)
    {
        var below = node.TryGetProperty("Plans", out var plans) ? plans.EnumerateArray().Sum(Sum) : 0;
        return below + (node.TryGetProperty("Relation Name", out _)
            ? (Number(node, "Actual Rows") + Number(node, "Rows Removed by Filter") + Number(node, "Rows Removed by Index Recheck")) * Number(node, "Actual Loops")
            : 0);
    }

    // Newer servers give averages over loops as fractions.
    private static long Number(JsonElement node, string name) => node.TryGetProperty(name, out var number) ? (long)Math.Ceiling(number.GetDouble()) : 0;
}
