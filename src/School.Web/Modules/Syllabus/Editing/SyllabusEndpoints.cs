using System.Globalization;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core;
using School.Core.Syllabus;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Syllabus.Editing;

/// <summary>An edition of the syllabus. A point without a source is common practice.</summary>
internal sealed record SyllabusJson(int Edition, IReadOnlyList<SkillGroup> Groups);

/// <summary>The whole syllabus as it is to become; a skill keeps its key, a skill left out is retired. The edition's number is only read.</summary>
internal sealed record SyllabusChange([property: Items(1, SyllabusEdition.MostSkills)] IReadOnlyList<SkillGroup>? Groups, int? Edition = null)
{
    public Outcome<SyllabusEdition> Read()
    {
        var errors = new FieldErrors().When(Groups is null, nameof(Groups), "Give the groups with their skills.")
            .When(Groups?.Count > SyllabusEdition.MostSkills, nameof(Groups), $"A syllabus has at most {SyllabusEdition.MostSkills} groups, each with at least one skill.");
        var groups = new List<SkillGroup>();
        foreach (var (group, at) in (Groups ?? []).Take(SyllabusEdition.MostSkills).Select((group, at) => (group, at)))
        {
            var field = $"{nameof(Groups)}[{at}].";
            var name = errors.ReadLine(field + nameof(SkillGroup.Name), group?.Name, Skill.LongestName, "Enter the name of the group.");
            var skills = group?.Skills ?? [];
            errors.When(skills.Any(skill => skill is null), field + nameof(SkillGroup.Skills), "A skill is missing.");
            groups.Add(new(name, [.. skills.Take(SyllabusEdition.MostSkills + 1).OfType<Skill>().Select((skill, n) => SkillCheck.Clean(skill, errors, $"{field}{nameof(SkillGroup.Skills)}[{n}]."))]));
        }

        return errors.ToRefusal() is { } refusal ? refusal : new SyllabusEdition(0, groups);
    }
}

internal sealed record EditionJson(int Edition, Instant MadeAt, string MadeBy, string Words);

internal static class SyllabusEndpoints
{
    public static void MapSyllabusEditing(this IEndpointRouteBuilder app)
    {
        var syllabus = app.MapApi("syllabus");
        syllabus.MapGet("", GetAsync).Needs(Permission.SeeSyllabus).WithName("GetSyllabus")
            .WithSummary("The syllabus as it stands, or as it stood with ?edition=; the ETag is the edition's number.")
            .Produces<SyllabusJson>().ProducesProblem(400).ProducesProblem(404);
        syllabus.MapGet("editions", ListAsync).Needs(Permission.SeeSyllabus).WithName("ListEditions")
            .WithSummary("What changed from edition to edition and who changed it, newest first.").Produces<Page<EditionJson>>().ProducesProblem(400);
        syllabus.MapPut("", ChangeAsync).Needs(Permission.ChangeSyllabus).WithIdempotency().WithName("ChangeSyllabus")
            .WithSummary("Makes a new edition of the whole syllabus; wants If-Match with the number of the edition that was looked at (412 edition_changed); 422 syllabus_problem says what does not fit together.")
            .Produces<SyllabusJson>().ProducesProblem(400).ProducesProblem(412).ProducesProblem(422).ProducesProblem(428);
    }

    private static async Task<IResult> GetAsync(int? edition, HttpContext context, SyllabusBook book, CancellationToken cancel) =>
        await (edition is { } number ? book.FindAsync(number, cancel) : CurrentAsync(book, cancel)) is { } found
            ? Ok(context, found)
            : Refusal.NotFound("edition").ToProblem();

    private static async Task<SyllabusEdition?> CurrentAsync(SyllabusBook book, CancellationToken cancel) => await book.CurrentAsync(cancel);

    private static async Task<IResult> ListAsync(int? limit, string? cursor, SchoolDb db, CancellationToken cancel)
    {
        var request = PageRequest.Of(limit, cursor);
        var before = request.Ok ? request.Value.Unwrap() : request.Refusal;
        if (!request.Ok || !before.Ok)
        {
            return before.Refusal!.ToProblem();
        }

        var number = int.MaxValue;
        if (before.Value.Length > 0 && !int.TryParse(before.Value, NumberStyles.None, CultureInfo.InvariantCulture, out number))
        {
            return Refusal.Invalid("cursor", "This cursor is not one that a list gave. Start again without it.").ToProblem();
        }

        var found = await db.Set<KeptEdition>().AsNoTracking().Where(e => e.Number < number).OrderByDescending(e => e.Number).Take(request.Value.Limit + 1)
            .Select(e => new EditionJson(e.Number, e.MadeAt, e.MadeBy, e.Words)).ToListAsync(cancel);
        var items = found.Take(request.Value.Limit).ToList();
        return Results.Ok(new Page<EditionJson>(items, found.Count > items.Count ? PageRequest.Wrap(items[^1].Edition.ToString(CultureInfo.InvariantCulture)) : null));
    }

    private static async Task<IResult> ChangeAsync(SyllabusChange input, HttpContext context, ChangeSyllabus change, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context) ?? (await change.RunAsync(viewer, _ => input.Read(), ETags.Wanted(context), cancel)).ToResult(edition => Ok(context, edition));

    public static IResult Ok(HttpContext context, SyllabusEdition edition)
    {
        context.Response.Headers.ETag = $"\"{edition.Number}\"";
        return Results.Ok(new SyllabusJson(edition.Number, edition.Groups));
    }
}
