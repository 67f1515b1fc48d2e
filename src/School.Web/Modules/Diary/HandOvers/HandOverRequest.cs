using System.Text.Json.Serialization;
using NodaTime;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.HandOvers;

/// <summary>To whom a pupil goes for good, and from which day on.</summary>
internal sealed record HandOverRequest([property: JsonRequired] Guid InstructorId, [property: JsonRequired] LocalDate From);

/// <summary>What is kept of it.</summary>
internal sealed record HandOverAsk(Guid PupilId, Guid InstructorId, LocalDate From);

/// <summary>From which days on a pupil can be handed over.</summary>
internal static class HandOverDay
{
    public const int FurthestDays = 366;

    public static FieldErrors Wrong(LocalDate from, LocalDate today)
    {
        var errors = new FieldErrors().WrongYear(nameof(HandOverRequest.From), from);
        return errors.Any ? errors
            : errors.When(from < today, nameof(HandOverRequest.From), "This day is past. Hand over from today or a later day.")
                .When(from > today.PlusDays(FurthestDays), nameof(HandOverRequest.From), "That is more than a year away. Look at the year.");
    }
}

/// <summary>Asks what handing a pupil over for good would do: what makes no sense is refused, the rest is worked out and kept. Changes nothing yet.</summary>
internal sealed class PlanHandOver(MakeProposal make, PupilBook pupils, InstructorBook instructors, SchoolInfo school, IClock clock)
{
    public async Task<Outcome<Proposal>> RunAsync(Viewer viewer, Guid pupilId, HandOverRequest request, CancellationToken cancel)
    {
        if (!viewer.KeepsDiary || await pupils.FindAsync(pupilId, viewer, cancel) is not { } pupil)
        {
            return Refusal.NotFound("pupil");
        }

        if (pupil.RetiredOn is not null)
        {
            return PupilRefusals.Left;
        }

        // One who left is the rule instructor_left.
        if (await instructors.FindAsync(request.InstructorId, cancel) is null)
        {
            return Refusal.NotFound("instructor");
        }

        return HandOverDay.Wrong(request.From, (await school.GetAsync(cancel)).Today(clock)).ToRefusal() is { } invalid
            ? invalid
            : await make.RunAsync(viewer, new(ProposalKind.HandOver, new HandOverAsk(pupilId, request.InstructorId, request.From)), cancel);
    }
}
