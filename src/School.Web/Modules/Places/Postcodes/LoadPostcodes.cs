using System.Globalization;
using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using Npgsql;
using NpgsqlTypes;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Places.Postcodes;

/// <summary>A file to take the postcodes from, and who wants to hear how far it is.</summary>
internal sealed record PostcodeLoad(PostcodeFile File, Action<string>? Say = null);

/// <summary>
/// Takes all postcodes from a file in the place of those before: first the whole file is checked, then everything is written in one
/// transaction, so that whatever happens on the way leaves the old ones.
/// </summary>
internal sealed partial class LoadPostcodes(SchoolDb db, Audit audit, IClock clock)
{
    private const string Lock = "postcodes";

    private const string Districts = """
        DELETE FROM places.districts;
        INSERT INTO places.districts (district, latitude, longitude, postcodes)
        SELECT split_part(postcode, ' ', 1), avg(latitude), avg(longitude), count(*) FROM places.postcodes GROUP BY 1;
        """;

    public async Task<Outcome<PostcodeSet>> RunAsync(Viewer viewer, PostcodeLoad request, CancellationToken cancel)
    {
        var file = request.File;
        if (file.Unreadable() is { } unreadable)
        {
            return Wrong(unreadable);
        }

        var check = new CheckedFile(file, request.Say);
        await Task.Run(() => check.Check(cancel), cancel);
        if (check.Faults.Count > 0)
        {
            return Wrong(check.Faults);
        }

        if (check.Taken == 0)
        {
            return Wrong("There is no postcode with a position in it.");
        }

        return await db.InTransactionAsync<PostcodeSet>(
            async cancel =>
            {
                await db.LockAsync([Lock], cancel);
                var connection = (NpgsqlConnection)db.Database.GetDbConnection();
                await RunAsync(connection, "DELETE FROM places.postcodes", cancel);
                var (written, twice) = await WriteAsync(connection, new(file, request.Say), cancel);
                if (twice is not null)
                {
                    return Wrong([twice]);
                }

                if (written != check.Taken)
                {
                    return Wrong("The file was changed while it was read. Try again.");
                }

                request.Say?.Invoke("finding the middles of the districts");
                await RunAsync(connection, Districts, cancel);
                return await NoteAsync(viewer, file, check, cancel);
            },
            cancel);
    }

    private async Task<PostcodeSet> NoteAsync(Viewer viewer, PostcodeFile file, CheckedFile check, CancellationToken cancel)
    {
        var districts = await db.Set<DistrictRow>().CountAsync(cancel);
        var set = await db.Set<PostcodeSet>().SingleOrDefaultAsync(cancel)
            ?? db.Add(new PostcodeSet { Name = "", LoadedAt = default, Postcodes = 0, Roughly = 0, LeftOut = 0, Districts = 0 }).Entity;
        (set.Name, set.LoadedAt, set.Postcodes, set.Roughly, set.LeftOut, set.Districts) =
            (file.Name, clock.GetCurrentInstant(), check.Taken, check.Roughly, check.LeftOut, districts);
        audit.Note(viewer, "postcodes.load", null, string.Create(CultureInfo.InvariantCulture, $"Loaded {check.Taken:N0} postcodes of {districts:N0} districts."));
        return set;
    }

    private static async Task<(int Written, FileFault? Twice)> WriteAsync(NpgsqlConnection connection, CheckedFile file, CancellationToken cancel)
    {
        var count = 0;
        try
        {
            await using var writer = await connection.BeginBinaryImportAsync("COPY places.postcodes (postcode, latitude, longitude, quality) FROM STDIN (FORMAT binary)", cancel);
            // Without a limit: the server may be at its index for longer than a statement usually takes.
            writer.Timeout = TimeSpan.Zero;
            foreach (var (_, point) in file.Points())
            {
                await writer.StartRowAsync(cancel);
                await writer.WriteAsync(point.Postcode, NpgsqlDbType.Text, cancel);
                await writer.WriteAsync(point.At.Latitude, NpgsqlDbType.Double, cancel);
                await writer.WriteAsync(point.At.Longitude, NpgsqlDbType.Double, cancel);
                await writer.WriteAsync((short)point.Quality, NpgsqlDbType.Smallint, cancel);
                file.Say(++count, "written");
            }

            await writer.CompleteAsync(cancel);
            return (count, null);
        }
        catch (PostgresException problem) when (problem.SqlState == PostgresErrorCodes.UniqueViolation)
        {
            // The server names the row by its number ("COPY postcodes, line 5").
            var row = int.Parse(RowOfCopy().Match(problem.Where ?? "line 1").Groups[1].Value, CultureInfo.InvariantCulture);
            var (line, point) = file.Points().ElementAt(row - 1);
            return (count, new(line.File, line.Number, $"the postcode {point.Postcode} stands in the file a second time."));
        }
    }

    private static async Task RunAsync(NpgsqlConnection connection, string sql, CancellationToken cancel)
    {
        await using var command = new NpgsqlCommand(sql, connection) { CommandTimeout = 0 };
        await command.ExecuteNonQueryAsync(cancel);
    }

    private static Refusal Wrong(string sentence) => Refusal.Rule("postcode_file_wrong", $"{sentence} Nothing has been loaded, and what was loaded before stands.");

    private static Refusal Wrong(IReadOnlyList<FileFault> faults)
    {
        var more = faults.Count >= CheckedFile.MostFaults ? " There may be more." : "";
        var sentence = $"This is not a postcode file as it should be: {string.Join(" ", faults.Select(fault => fault.Sentence))}{more}";
        return Wrong(sentence) with { More = new Dictionary<string, object?> { ["faults"] = faults } };
    }

    [GeneratedRegex("line ([0-9]+)")]
    private static partial Regex RowOfCopy();
}
