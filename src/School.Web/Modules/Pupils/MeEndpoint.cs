using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;

namespace School.Web.Modules.Pupils;

/// <summary>A pupil beside whom one stands, and what the pupil lets one see.</summary>
internal sealed record BesideWhomJson(Guid PupilId, string Name, string Relation, IReadOnlyList<SeenOfPupil> Sees);

/// <summary>Who asks: their hats, whom they are linked to, and beside whom they stand, at most so many (<see cref="MeEndpoint.MostBeside"/>).</summary>
internal sealed record MeJson(
    Guid Id, string Name, IReadOnlyList<Hat> Hats, IReadOnlyList<OfficePart> Parts, Guid? InstructorId, Guid? PupilId, IReadOnlyList<BesideWhomJson> Beside);

internal static class MeEndpoint
{
    public const int MostBeside = 200;

    public static void MapMe(this IEndpointRouteBuilder app) =>
        app.MapApi("me").MapGet("", GetAsync).Needs(Permission.OwnSignIn).WithName("GetMe")
            .WithSummary("Who asks: hats, parts of the office, and the pupils beside whom they stand with what each allows. Their lessons and progress are read where everybody's are.")
            .Produces<MeJson>();

    private static async Task<IResult> GetAsync(Viewer viewer, BesideBook beside, CancellationToken cancel) => Results.Ok(new MeJson(
        viewer.PersonId, viewer.Name, [.. viewer.Hats], viewer.Parts.List(), viewer.InstructorId, viewer.PupilId,
        [.. (await beside.ListAsync(viewer, 0, MostBeside, cancel)).Select(b => new BesideWhomJson(b.PupilId, b.Name, b.Relation, b.Sees))]));
}
