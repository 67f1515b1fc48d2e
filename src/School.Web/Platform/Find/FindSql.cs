using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Find;
using School.Web.Platform.Database;

namespace School.Web.Platform.Find;

/// <summary>A row with a name, as it is looked for.</summary>
internal sealed class NamedRow
{
    public required Guid Id { get; init; }

    public required string Label { get; init; }

    /// <summary><see cref="FindSql.Plain"/> of the name.</summary>
    public required string Plain { get; init; }

    /// <summary>Whoever it belongs to.</summary>
    public Guid? Of { get; init; }

    public string More { get; init; } = "";

    /// <summary>Since when it is of the past.</summary>
    public required LocalDate? Left { get; init; }
}

/// <summary>The questions by which something is found in the database.</summary>
internal static class FindSql
{
    /// <summary>So few found, and one slip is forgiven as well.</summary>
    private const int Few = 3;

    private const int LongestForgiven = 30;

    /// <summary>Of those that the index finds, so many are looked at word by word.</summary>
    private const int MostSimilar = 300;

    /// <summary>The plain form of a text; in the database alone (plain.sql).</summary>
    public static string Plain(string words) => throw new InvalidOperationException($"The database alone makes {words} plain.");

    public static void Configure(ModelBuilder model)
    {
        model.HasPostgresExtension("unaccent");
        model.HasDbFunction(typeof(FindSql).GetMethod(nameof(Plain))!).HasName("plain").HasSchema("platform").IsNullable(false);
    }

    /// <summary>The plain forms of texts that are no rows, in their order.</summary>
    public static Task<List<string>> PlainAsync(this SchoolDb db, IReadOnlyCollection<string> texts, CancellationToken cancel)
    {
        string[] all = [.. texts];
        return db.Database.SqlQuery<string>($"""SELECT platform.plain(t.words) AS "Value" FROM unnest({all}) WITH ORDINALITY AS t(words, n) ORDER BY t.n""").ToListAsync(cancel);
    }

    /// <summary>Those whose names fit; where they are few, also those that fit but for one slip in a word.</summary>
    public static async Task<IReadOnlyList<NamedRow>> NamedAsync(this IQueryable<NamedRow> rows, Question question, int most, CancellationToken cancel)
    {
        if (question.Words.Count == 0)
        {
            return [];
        }

        var start = $" {question.Joined}%";
        var found = await rows.Beginning(question).OrderByDescending(row => EF.Functions.Like(row.Plain, start)).ThenBy(row => row.Left != null).ThenByDescending(row => row.Id)
            .Take(most).ToListAsync(cancel);
        if (found.Count >= Few || found.Count >= most || !question.Words.Any(IsForgiven))
        {
            return found;
        }

        Guid[] already = [.. found.Select(row => row.Id)];
        var joined = question.Joined;
        var similar = await rows.Similar(question).Where(row => !already.Contains(row.Id))
            .OrderByDescending(row => EF.Functions.TrigramsWordSimilarity(joined, row.Plain)).ThenBy(row => row.Left != null).ThenByDescending(row => row.Id)
            .Take(MostSimilar).ToListAsync(cancel);
        return [.. found, .. similar.Where(row => question.FitsButForASlip(row.Plain)).Take(most - found.Count)];
    }

    /// <summary>Each word begins a word of the name, in any order.</summary>
    private static IQueryable<NamedRow> Beginning(this IQueryable<NamedRow> rows, Question question)
    {
        foreach (var word in question.Words)
        {
            var begins = $"% {word}%";
            rows = rows.Where(row => EF.Functions.Like(row.Plain, begins));
        }

        return rows;
    }

    /// <summary>All that fit but for one slip in each word, and some that do not.</summary>
    private static IQueryable<NamedRow> Similar(this IQueryable<NamedRow> rows, Question question)
    {
        foreach (var word in question.Words)
        {
            var begins = $"% {word}%";
            if (!IsForgiven(word))
            {
                rows = rows.Where(row => EF.Functions.Like(row.Plain, begins));
                continue;
            }

            // A slip touches two letters at most, so half of the others stand together at one end: what the index finds.
            var half = Math.Max(2, (word.Length - 1) / 2);
            var (first, last) = ($"% {word[..half]}%", $"%{word[^half..]} %");
            if (word.Length > OneSlip.ShortestWord)
            {
                rows = rows.Where(row => EF.Functions.Like(row.Plain, begins) || EF.Functions.Like(row.Plain, first) || EF.Functions.Like(row.Plain, last));
                continue;
            }

            // Of four letters two neighbours that changed places may leave no two.
            var (one, two, three) = ($"% {word[1]}{word[0]}{word[2..]} %", $"% {word[0]}{word[2]}{word[1]}{word[3]} %", $"% {word[..2]}{word[3]}{word[2]} %");
            rows = rows.Where(row => EF.Functions.Like(row.Plain, begins) || EF.Functions.Like(row.Plain, first) || EF.Functions.Like(row.Plain, last)
                || EF.Functions.Like(row.Plain, one) || EF.Functions.Like(row.Plain, two) || EF.Functions.Like(row.Plain, three));
        }

        return rows;
    }

    /// <summary>Half a character is none.</summary>
    private static bool IsForgiven(string word) => word.Length is >= OneSlip.ShortestWord and <= LongestForgiven && word.All(char.IsLetter);

    private static bool FitsButForASlip(this Question question, string plain)
    {
        var names = plain.Split(' ', StringSplitOptions.RemoveEmptyEntries);
        return question.Words.All(word => names.Any(name => name.StartsWith(word, StringComparison.Ordinal) || (IsForgiven(word) && OneSlip.Leads(word, name))));
    }
}
