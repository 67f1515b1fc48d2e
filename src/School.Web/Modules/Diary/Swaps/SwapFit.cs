using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.Slots;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Swaps;

/// <summary>
/// Says of the lessons of a day why one cannot change places with them, before any is proposed: by the rules of a move, each lesson in the place of the other. The two days are read
/// once, however many lessons there are. What the two then do to each other (a drive between them) is judged when the swap is proposed.
/// </summary>
internal sealed class SwapFit(SchoolDb db, SlotFinder slots, PupilBook pupils, SchoolInfo school)
{
    /// <summary>So many lessons are judged; the list shows no more.</summary>
    public const int Most = 60;

    /// <summary>Of each that cannot be: why.</summary>
    public async Task<IReadOnlyDictionary<Guid, Refusal>> WhyNotAsync(Viewer viewer, Lesson lesson, IReadOnlyList<Lesson> others, CancellationToken cancel)
    {
        if (others.Count == 0)
        {
            return new Dictionary<Guid, Refusal>();
        }

        var zone = (await school.GetAsync(cancel)).Zone;
        var cards = await pupils.CardsAsync(others.Select(other => other.PupilId).Append(lesson.PupilId), cancel);
        var there = await slots.CheckMovesAsync(DateOf(others[0]), [.. others.Select(other => Move(lesson, other))], viewer, cancel);
        var here = await slots.CheckMovesAsync(DateOf(lesson), [.. others.Select(other => Move(other, lesson))], viewer, cancel);
        Guid[] ids = [.. others.Select(other => other.Id).Append(lesson.Id)];
        var open = (await db.Set<SwapAnswer>().AsNoTracking().Where(a => a.Open && ids.Contains(a.LessonId)).Select(a => new { a.LessonId, a.ProposalId }).ToListAsync(cancel)).ToLookup(a => a.LessonId, a => a.ProposalId);
        var why = new Dictionary<Guid, Refusal>();
        foreach (var (other, at) in others.Select((other, at) => (other, at)))
        {
            if ((open[lesson.Id].Concat(open[other.Id]).Select(id => SwapRefusals.Open(id)).FirstOrDefault() ?? there[at].Refusal ?? here[at].Refusal ?? Overlap(there[at].Value!, here[at].Value!)) is { } not)
            {
                why[other.Id] = not;
            }
        }

        return why;

        LocalDate DateOf(Lesson one) => one.StartsAt.InZone(zone).Date;

        TriedMove Move(Lesson one, Lesson to) =>
            new(SlotQuestion.ToMove(one, DateOf(to)) with { LeavingLessonId = to.Id }, cards[one.PupilId], to.InstructorId, to.StartsAt);
    }

    private static Refusal? Overlap(SlotOffer one, SlotOffer other) =>
        one.InstructorId == other.InstructorId && one.Start < other.End && other.Start < one.End ? SwapRefusals.Overlap : null;
}
