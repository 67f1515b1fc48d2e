using System.ComponentModel.DataAnnotations;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.Cover;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Diary.Covers;

/// <summary>Who is ill, or which car is off the road; from when until when; how far lessons may move.</summary>
internal sealed record CoverRequest(
    Guid? InstructorId, Guid? CarId, Instant Start, Instant End, string? Reason = null, int MayMoveMinutes = 0);

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

/// <summary>Starts a search for cover. Most answer at once; one that takes longer goes on as a job that shows how far it has come.</summary>
internal sealed class PlanCover(
    SchoolDb db, CoverReader reader, InstructorBook instructors, CarPark cars, SchoolInfo school, CoverLimits limits, IClock clock)
{
    public const int LongestDays = 14;

    private static readonly Duration Furthest = Duration.FromDays(366);

    public async Task<Outcome<CoverPlan>> RunAsync(CoverRequest request, Viewer viewer, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var errors = new FieldErrors()
            .When(request.InstructorId is null && request.CarId is null, nameof(request.InstructorId), "Choose the instructor who is ill or the car that is off the road.")
            .When(request.InstructorId is not null && request.CarId is not null, nameof(request.CarId), "Choose an instructor or a car, not both.")
            .When(request.End <= request.Start, nameof(request.End), "The end must be after the start.")
            .When(request.End > request.Start && request.End <= now, nameof(request.End), "That time has passed. Give a time still to come.")
            .When(request.Start > now + Furthest, nameof(request.Start), "That is more than a year away. Look at the year.")
            .When(request.End - request.Start > Duration.FromDays(LongestDays), nameof(request.End), $"Look for cover for at most {LongestDays} days at a time.")
            .When(request.MayMoveMinutes is < 0 or > NodaConstants.MinutesPerDay, nameof(request.MayMoveMinutes), "Lessons may move by 0 to 1,440 minutes.");
        var reason = errors.ReadLine(nameof(request.Reason), request.Reason, CoverPlan.LongestReason);
        if (errors.ToRefusal() is { } invalid)
        {
            return invalid;
        }

        if (await WhoAsync(request, cancel) is { } nobody)
        {
            return nobody;
        }

        var plan = new CoverPlan
        {
            InstructorId = request.InstructorId,
            CarId = request.CarId,
            StartsAt = request.Start,
            EndsAt = request.End,
            Reason = reason.Length > 0 ? reason : request.InstructorId is not null ? "Ill" : "Repair",
            MayMoveMinutes = request.MayMoveMinutes,
            AskedAt = now,
        };
        if (await WorkOutAsync(plan, cancel) is { } refusal)
        {
            return refusal;
        }

        return await db.InTransactionAsync<CoverPlan>(_ => Task.FromResult<Outcome<CoverPlan>>(db.Add(plan).Entity), cancel);
    }

    /// <summary>Works a proposal out anew, since the diary has changed. Null when all went well.</summary>
    public async Task<Refusal?> AgainAsync(Guid planId, CancellationToken cancel)
    {
        var outcome = await db.InTransactionAsync<CoverPlan>(
            async cancel =>
            {
                await db.LockAsync([LockOf(planId)], cancel);
                var plan = await db.Set<CoverPlan>().SingleAsync(c => c.Id == planId, cancel);
                return plan.State is not CoverState.Proposed ? plan.NotOpen()
                    : await WorkOutAsync(plan, cancel) is { } refusal ? refusal
                    : plan;
            },
            cancel);
        return outcome.Refusal;
    }

    public static string LockOf(Guid planId) => $"cover:{planId}";

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

    private async Task<Refusal?> WorkOutAsync(CoverPlan plan, CancellationToken cancel)
    {
        if (await reader.ReadAsync(plan, cancel) is not { } reading)
        {
            return Refusal.Rule("nothing_to_cover", plan.InstructorId is not null
                ? "No booked lessons lie in that time, so there is nothing to cover. Enter the time off with the instructor's hours."
                : "No booked lessons need the car in that time, so there is nothing to cover. Take it off the road on the car's page.");
        }

        var zone = (await school.GetAsync(cancel)).Zone;
        if (reading.Lessons.GroupBy(l => l.StartsAt.InZone(zone).Date).Any(day => day.Count() > CoverSearch.MostLessonsADay))
        {
            return Refusal.Rule("too_many_lessons", $"More than {CoverSearch.MostLessonsADay} lessons of one day would need cover. Choose a shorter time.");
        }

        using var enough = CancellationTokenSource.CreateLinkedTokenSource(cancel);
        if (limits.AtOnceSeconds > 0)
        {
            enough.CancelAfter(TimeSpan.FromSeconds(limits.AtOnceSeconds));
        }
        else
        {
            await enough.CancelAsync();
        }

        var proposal = CoverSearch.Propose(reading.Problem, reading.Loaded.Travel, giveUp: enough.Token);
        cancel.ThrowIfCancellationRequested();
        if (proposal.IsProven || plan.State is CoverState.Proposed)
        {
            plan.Propose(CoverAnswer.Of(proposal), reading.Seen);
        }

        return null;
    }
}
