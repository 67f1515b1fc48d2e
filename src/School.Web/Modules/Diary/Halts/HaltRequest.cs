using System.Text.Json.Serialization;
using NodaTime;
using School.Core;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Places.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Halts;

/// <summary>What becomes of the lessons.</summary>
internal enum HaltAct
{
    Cancel,
    Move,
}

/// <summary>Which hours, whose lessons and where they begin (everybody's and everywhere when not named), what becomes of them, and why.</summary>
internal sealed record HaltRequest(
    [property: JsonRequired] Instant Start, [property: JsonRequired] Instant End, [property: Items(1, HaltRequest.Most)] IReadOnlyList<Guid>? InstructorIds,
    [property: Items(1, HaltRequest.Most)] IReadOnlyList<Guid>? AreaIds, [property: JsonRequired] HaltAct Act, [property: JsonRequired] CancelReason Reason)
{
    public const int Most = 100;

    [JsonIgnore]
    public Interval During => new(Start, End);
}

/// <summary>Asks what a halt would do: what makes no sense is refused, the rest is worked out and kept. Changes nothing yet.</summary>
internal sealed class PlanHalt(MakeProposal make, InstructorBook instructors, AreaBook areas, IClock clock)
{
    public const int LongestDays = 14;

    private static readonly Duration Furthest = Duration.FromDays(366);

    public async Task<Outcome<Proposal>> RunAsync(Viewer viewer, HaltRequest request, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var teaching = await instructors.ListAsync(alsoRetired: false, cancel);
        // An instructor halts their own lessons alone, and names nobody for it.
        if (!viewer.KeepsDiary && viewer.InstructorId is { } own)
        {
            if (request.InstructorIds is { } named && named.Any(id => id != own))
            {
                return Refusal.NotFound("instructor");
            }

            request = request with { InstructorIds = [own] };
        }

        var known = (await areas.ListAsync(cancel)).Select(area => area.Id).ToHashSet();
        var errors = new FieldErrors()
            .When(request.End <= request.Start, nameof(request.End), "The end must be after the start.")
            .When(request.End > request.Start && request.End <= now, nameof(request.End), "That time has passed. Give a time still to come.")
            .When(request.Start > now + Furthest, nameof(request.Start), "That is more than a year away. Look at the year.")
            .When(request.End - request.Start > Duration.FromDays(LongestDays), nameof(request.End), $"Stop lessons for at most {LongestDays} days at a time.")
            .When(!Enum.IsDefined(request.Act), nameof(request.Act), "Say whether the lessons are cancelled or moved.")
            .When(request.Reason is CancelReason.Pupil || !Enum.IsDefined(request.Reason), nameof(request.Reason), "A halt has a cause of the school’s: the weather, the car, an instructor who is ill, or another one.")
            .When(request.InstructorIds is { Count: 0 or > HaltRequest.Most }, nameof(request.InstructorIds), "Name at least one instructor, or leave them out for everybody.")
            .When(request.InstructorIds?.Any(id => teaching.All(i => i.Id != id)) == true, nameof(request.InstructorIds), "Not all of these instructors teach here.")
            .When(request.AreaIds is { Count: 0 or > HaltRequest.Most }, nameof(request.AreaIds), "Name at least one area, or leave them out for everywhere.")
            .When(request.AreaIds?.Any(id => !known.Contains(id)) == true, nameof(request.AreaIds), "Not all of these are areas of the school.");
        return errors.ToRefusal() is { } invalid ? invalid : await make.RunAsync(viewer, new(ProposalKind.Halt, request), cancel);
    }
}
