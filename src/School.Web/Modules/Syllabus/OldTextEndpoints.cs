using NodaTime;
using School.Core;
using School.Core.Syllabus;
using School.Web.Modules.Syllabus.Editing;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus;

/// <summary>A text that rests on an old source; the part is the list that it stands in, in words.</summary>
internal sealed record OldTextJson(string Skill, string Name, string Part, string Text);

/// <summary>What is from memory was never held against its source.</summary>
internal sealed record OldSourceJson(string Source, LocalDate SourceDate, bool FromMemory, IReadOnlyList<OldTextJson> Texts)
{
    public static OldSourceJson Of(OldSource old) => new(
        old.Source.Name, old.Source.Date, old.FromMemory, [.. old.Texts.Select(text => new OldTextJson(text.Skill.Key, text.Skill.Name, text.Part, text.Text))]);
}

/// <summary>A source with the date that the texts give it.</summary>
internal sealed record SourceRead([property: Needed, AtMost(Skill.LongestSource)] string? Source, [property: Needed] LocalDate? SourceDate);

/// <summary>Sources that were read today, and that still say what the texts say.</summary>
internal sealed record SourcesRead([property: Needed, Items(1, OldTexts.MostSources)] IReadOnlyList<SourceRead?>? Sources)
{
    public Outcome<HashSet<TextSource>> Read()
    {
        var errors = new FieldErrors().When(
            Sources is not { Count: >= 1 and <= OldTexts.MostSources }, nameof(Sources), $"Name the sources that were read, from 1 to {OldTexts.MostSources}.");
        foreach (var (source, at) in (Sources ?? []).Take(OldTexts.MostSources).Select((source, at) => (source, at)))
        {
            errors.When(string.IsNullOrWhiteSpace(source?.Source), $"{nameof(Sources)}[{at}].{nameof(SourceRead.Source)}", "Say which source was read.");
            errors.When(source?.Source?.Length > Skill.LongestSource, $"{nameof(Sources)}[{at}].{nameof(SourceRead.Source)}", $"A source has at most {Skill.LongestSource} characters.");
            errors.When(source?.SourceDate is null, $"{nameof(Sources)}[{at}].{nameof(SourceRead.SourceDate)}", "Give the date that the texts name with it.");
        }

        return errors.ToRefusal() is { } refusal ? refusal : Sources!.Select(source => new TextSource(source!.Source!, source.SourceDate!.Value)).ToHashSet();
    }
}

internal static class OldTextEndpoints
{
    public static void MapOldTexts(this IEndpointRouteBuilder app)
    {
        var texts = app.MapApi("syllabus/old-texts");
        texts.MapGet("", ListAsync).Needs(Permission.ChangeSyllabus).WithName("ListOldTexts")
            .WithSummary("Sources of the syllabus whose date is more than a year ago, and those that were given from memory, with the texts that rest on each; the oldest first.")
            .Produces<Page<OldSourceJson>>().ProducesProblem(400);
        texts.MapPost("read", ReadAsync).Needs(Permission.ChangeSyllabus).WithIdempotency().WithName("MarkSourcesRead")
            .WithSummary("Dates sources today in every text that names them, as a new edition: they were read, and still say the same. Wants If-Match with the number of the edition.")
            .Produces<SyllabusJson>().ProducesProblem(400).ProducesProblem(412).ProducesProblem(422).ProducesProblem(428);
    }

    private static async Task<IResult> ListAsync(int? limit, string? cursor, SyllabusBook book, OldTexts old, CancellationToken cancel)
    {
        var page = (await old.OfAsync(await book.CurrentAsync(cancel), cancel)).PageOf(limit, cursor, source => OldTextsModel.Value(source.Source));
        return page.ToResult(found => Results.Ok(new Page<OldSourceJson>([.. found.Items.Select(OldSourceJson.Of)], found.Next)));
    }

    private static async Task<IResult> ReadAsync(SourcesRead input, HttpContext context, ChangeSyllabus change, OldTexts old, Viewer viewer, CancellationToken cancel)
    {
        if (ETags.Missing(context) is { } missing)
        {
            return missing;
        }

        var read = input.Read();
        if (!read.Ok)
        {
            return read.Refusal.ToProblem();
        }

        var today = await old.TodayAsync(cancel);
        var changed = await change.RunAsync(viewer, edition => OldTexts.Reread(edition, read.Value, today), ETags.Wanted(context), cancel);
        return changed.ToResult(edition => SyllabusEndpoints.Ok(context, edition));
    }
}
