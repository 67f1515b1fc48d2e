using System.Globalization;
using System.Text.Json.Serialization;
using Microsoft.EntityFrameworkCore;
using School.Core;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Records.Retention;

/// <summary>For how many days things of a kind are kept.</summary>
internal sealed record RetentionPeriod([property: Needed, AtMost(RetentionPeriod.LongestCode)] string? Code, [property: Needed, Between(RetentionPeriod.Fewest, RetentionPeriod.MostDays)] int? Days)
{
    public const int LongestCode = 60;
    public const int Fewest = 1;
    public const int MostDays = 36_525;
}

/// <summary>The periods that the school decides; a kind that is left out goes back to the usual time.</summary>
internal sealed record RetentionInput([property: Needed, Items(0, RetentionInput.MostPeriods)] IReadOnlyList<RetentionPeriod>? Periods)
{
    public const int MostPeriods = 100;
}

/// <summary>Changes how long things are kept, within the bounds of each kind. Nothing is cleared by it: the next run of the job does.</summary>
internal sealed class ChangeRetention(SchoolDb db, RetentionPeriods periods, Audit audit)
{
    public const string TooShort = "kept_too_short";

    public Task<Outcome<RetentionSettings>> RunAsync(Viewer viewer, RetentionInput input, int? expected, CancellationToken cancel) => db.InTransactionAsync<RetentionSettings>(
        async cancel =>
        {
            var taken = await db.Set<RetentionSettings>().TakeAsync(RetentionSettings.Only, expected, "setting", cancel);
            if (taken is not { Value: { } row })
            {
                return taken;
            }

            if (input.Periods is not { } wanted)
            {
                return Refusal.Invalid(nameof(input.Periods), "Send the periods, or an empty list for the usual ones.");
            }

            if (Judge(wanted) is { } refusal)
            {
                return refusal;
            }

            var before = periods.Of(row);
            row.Take(wanted.Where(period => periods.Rules.Any(rule => rule.Code == period.Code && rule.Days != period.Days)).ToDictionary(period => period.Code!, period => period.Days!.Value, StringComparer.Ordinal));
            var changed = before.Zip(periods.Of(row)).Where(pair => pair.First.Days != pair.Second.Days)
                .Select(pair => string.Create(CultureInfo.InvariantCulture, $"{pair.First.Rule.Code} {pair.First.Days} → {pair.Second.Days} days")).ToList();
            if (changed.Count > 0)
            {
                audit.Note(viewer, "retention.change", null, $"Changed how long things are kept: {string.Join(", ", changed)}.");
            }

            return row;
        },
        cancel);

    /// <summary>Every fault at once. What is only too short is a rule's no; where something is not well formed besides, all of it is.</summary>
    private Refusal? Judge(IReadOnlyList<RetentionPeriod> wanted)
    {
        var (malformed, tooShort, sources) = (new FieldErrors(), new FieldErrors(), new List<RetentionLink>());
        for (var n = 0; n < wanted.Count; n++)
        {
            var (code, days) = (wanted[n]?.Code, wanted[n]?.Days);
            var (codeField, daysField) = ($"Periods[{n}].Code", $"Periods[{n}].Days");
            if (periods.Rules.SingleOrDefault(rule => rule.Code == code) is not { } rule)
            {
                malformed.Add(codeField, "There is no kind of this code. Those that there are stand in /api/v1/retention/kinds.");
                continue;
            }

            malformed.When(wanted.Take(n).Any(other => other.Code == code), codeField, "This kind is named twice.");
            if (days is not { } number)
            {
                malformed.Add(daysField, $"Enter for how many days: {Bounds(rule)}.");
            }
            else if (!rule.SchoolDecides)
            {
                malformed.When(number != rule.Days, daysField, $"{rule.Kind}: the service decides this, {Count(rule.Days)}. Leave it as it is.");
            }
            else if (number > rule.Most)
            {
                malformed.Add(daysField, $"{rule.Kind}: {Bounds(rule)}. {rule.Reason}");
            }
            else if (number < rule.Least)
            {
                tooShort.Add(daysField, $"{rule.Kind} are kept for {Count(rule.Least)} at least. {rule.Reason}{(rule.Source is { } source ? $" {source.Words}{(source.Url is null ? "" : $", {source.Url}")}." : "")}");
                sources.AddRange(rule.Source is { Url: { } url } link ? [new RetentionLink(rule.Code, link.Words, url)] : []);
            }
        }

        if (malformed.Any)
        {
            return malformed.AddAll(tooShort).ToRefusal();
        }

        return tooShort.ToRefusal() is not { } refusal ? null : Refusal.Rule(TooShort, string.Join(" ", refusal.Fields.Values.SelectMany(sentences => sentences))) with
        {
            Fields = refusal.Fields,
            More = new Dictionary<string, object?> { ["sources"] = sources },
        };
    }

    private static string Bounds(RetentionRule rule) => $"from {Number(rule.Least)} to {Count(rule.Most)}";

    private static string Count(int days) => days == 1 ? "1 day" : $"{Number(days)} days";

    private static string Number(int days) => days.ToString("N0", CultureInfo.GetCultureInfo("en-GB"));
}

/// <summary>Where it can be read why something is kept for so long.</summary>
internal sealed record RetentionLink(string Code, string Words, [property: JsonPropertyName("url")] string Url);
