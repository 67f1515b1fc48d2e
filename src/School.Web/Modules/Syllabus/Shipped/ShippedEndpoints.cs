using School.Core;
using School.Core.Syllabus;
using School.Web.Modules.Syllabus.Editing;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Shipped;

/// <summary>What differs is named in words; changedHere where the school has written something of its own into it; inSyllabus is false for a skill that it does not teach.</summary>
internal sealed record ShippedSkillJson(string Key, string Name, bool InSyllabus, bool ChangedHere, IReadOnlyList<string> Differs, Skill Skill);

/// <summary>Keys of skills whose texts are taken over.</summary>
internal sealed record SkillsTaken([property: Needed, Items(1, SyllabusEdition.MostSkills), AtMost(Skill.LongestKey)] IReadOnlyList<string>? Skills)
{
    public Refusal? Wrong() => new FieldErrors()
        .When(
            Skills is not { Count: >= 1 and <= SyllabusEdition.MostSkills } || Skills.Any(key => key is not { Length: <= Skill.LongestKey }),
            nameof(Skills), $"Name the skills whose texts you take over by their keys, from 1 to {SyllabusEdition.MostSkills}.").ToRefusal();
}

internal static class ShippedEndpoints
{
    public static void MapShippedTexts(this IEndpointRouteBuilder app)
    {
        var shipped = app.MapApi("syllabus/shipped");
        shipped.MapGet("", ListAsync).Needs(Permission.ChangeSyllabus).WithName("ListShippedSkills")
            .WithSummary("Skills that this version of the service ships with other texts than the school's, each with its texts.")
            .Produces<Page<ShippedSkillJson>>().ProducesProblem(400);
        shipped.MapPost("take", TakeAsync).Needs(Permission.ChangeSyllabus).WithIdempotency().WithName("TakeShippedTexts")
            .WithSummary("Takes over shipped texts as a new edition; keys, names, order and what a skill builds on stay. Wants If-Match with the number of the edition.")
            .Produces<SyllabusJson>().ProducesProblem(400).ProducesProblem(412).ProducesProblem(422).ProducesProblem(428);
    }

    private static async Task<IResult> ListAsync(int? limit, string? cursor, SyllabusBook book, ShippedComparison comparison, CancellationToken cancel)
    {
        var page = (await comparison.OfAsync(await book.CurrentAsync(cancel), cancel)).PageOf(limit, cursor, line => line.Skill.Key);
        return page.ToResult(found => Results.Ok(new Page<ShippedSkillJson>(
            [.. found.Items.Select(line => new ShippedSkillJson(line.Skill.Key, line.Name, line.Here, line.ChangedHere, line.Differs, line.Skill))], found.Next)));
    }

    private static async Task<IResult> TakeAsync(SkillsTaken input, HttpContext context, ChangeSyllabus change, Viewer viewer, CancellationToken cancel)
    {
        if ((ETags.Missing(context) ?? input.Wrong()?.ToProblem()) is { } wrong)
        {
            return wrong;
        }

        var changed = await change.RunAsync(viewer, edition => ShippedComparison.Take(edition, input.Skills!), ETags.Wanted(context), cancel);
        return changed.ToResult(edition => SyllabusEndpoints.Ok(context, edition));
    }
}
