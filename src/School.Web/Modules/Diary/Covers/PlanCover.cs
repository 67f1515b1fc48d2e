using System.ComponentModel.DataAnnotations;
using NodaTime;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Diary.Covers;

/// <summary>Who is ill, or which car is off the road; from when until when; how far lessons may move.</summary>
internal sealed record CoverRequest(
    Guid? InstructorId, Guid? CarId, Instant Start, Instant End, string? Reason = null, int MayMoveMinutes = 0)
{
    public Interval During => new(Start, End);

    public CancelReason Because => InstructorId is not null ? CancelReason.InstructorIll : CancelReason.Car;
}

/// <summary>How long a search for cover may take.</summary>
internal sealed class CoverLimits
{
    public const string Section = "School:Cover";

    /// <summary>Somebody waits for the page this long; what takes longer goes on as a job.</summary>
    [Range(0, 20)]
    public double AtOnceSeconds { get; init; } = 2;

    /// <summary>A job ends after this with what it has.</summary>
    [Range(1, 600)]
    public double MostSeconds { get; init; } = 60;
}

/// <summary>Asks for cover: what makes no sense is refused, the rest is worked out and kept.</summary>
internal sealed class PlanCover(MakeProposal make, InstructorBook instructors, CarPark cars, SchoolInfo school, IClock clock)
{
    public const int LongestDays = 14;
    public const int LongestReason = 100;
    public const int FurthestMove = NodaConstants.MinutesPerDay;

    private static readonly Duration Furthest = Duration.FromDays(366);

    public async Task<Outcome<Proposal>> RunAsync(Viewer viewer, CoverRequest request, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var errors = new FieldErrors()
            .When(request.InstructorId is null && request.CarId is null, nameof(request.InstructorId), "Choose the instructor who is ill or the car that is off the road.")
            .When(request.InstructorId is not null && request.CarId is not null, nameof(request.CarId), "Choose an instructor or a car, not both.")
            .When(request.End <= request.Start, nameof(request.End), "The end must be after the start.")
            .When(request.End > request.Start && request.End <= now, nameof(request.End), "That time has passed. Give a time still to come.")
            .When(request.Start > now + Furthest, nameof(request.Start), "That is more than a year away. Look at the year.")
            .When(request.End - request.Start > Duration.FromDays(LongestDays), nameof(request.End), $"Look for cover for at most {LongestDays} days at a time.")
            .When(request.MayMoveMinutes is < 0 or > FurthestMove, nameof(request.MayMoveMinutes), $"Lessons may move by 0 to {FurthestMove} minutes.");
        var reason = errors.ReadLine(nameof(request.Reason), request.Reason, LongestReason);
        if (errors.ToRefusal() is { } invalid)
        {
            return invalid;
        }

        if (await WhoAsync(request, cancel) is { } nobody)
        {
            return nobody;
        }

        var named = reason.Length > 0 ? reason : request.InstructorId is not null ? "Ill" : "Repair";
        return await make.RunAsync(viewer, new(ProposalKind.Cover, request with { Reason = named }), cancel);
    }

    private async Task<Refusal?> WhoAsync(CoverRequest request, CancellationToken cancel)
    {
        var teaching = await instructors.ListAsync(alsoRetired: false, cancel);
        if (request.InstructorId is { } id && teaching.All(i => i.Id != id))
        {
            return Refusal.NotFound("instructor");
        }

        if (request.CarId is { } carId && (await cars.ReadAsync((await school.GetAsync(cancel)).Zone, alsoRetired: false, cancel)).Cars.All(c => c.Id != carId))
        {
            return Refusal.NotFound("car");
        }

        return teaching.Any(i => i.Id != request.InstructorId) ? null : Refusal.Rule(
            "nobody_to_cover", "There is no other instructor at the school who could take these lessons. Move or cancel them one by one.");
    }
}
