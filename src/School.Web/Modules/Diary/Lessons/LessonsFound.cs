using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Find;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>
/// The next and the last few lessons: of the pupils who are looked for those that the viewer sees in the diary; of a pupil's own, and of who lets them be
/// seen, also by the name of the instructor or the word itself.
/// </summary>
internal sealed class LessonsFound(SchoolDb db, FoundPupils pupils, BesideBook beside, InstructorBook instructors, SchoolInfo school, IClock clock) : IFind
{
    private const int MostPupils = 3;
    private const int Next = 2;
    private const int Last = 1;
    private const string Itself = "lesson lessons";

    public FoundKind Kind => FoundKind.Lesson;

    public async Task<IReadOnlyList<Found>> FindAsync(Viewer viewer, Question question, int most, CancellationToken cancel)
    {
        if (!viewer.May(Permission.ReadLessons) || question.Words.Count == 0)
        {
            return [];
        }

        var asked = new List<Asked>();
        if (viewer.ArrangesLessons)
        {
            foreach (var pupil in await pupils.OfAsync(viewer, question, MostPupils, cancel))
            {
                asked.Add(new(db.Set<Lesson>().VisibleTo(viewer).Where(l => l.PupilId == pupil.Id), pupil.Name, null));
            }
        }

        if (viewer.PupilId is { } self && viewer.May(Permission.SeeLessons))
        {
            asked.Add(new(await AboutAsync(db.Set<Lesson>().Where(l => l.PupilId == self), viewer.Name, question, cancel), "", null));
        }

        if (viewer.May(Permission.SeeBeside))
        {
            foreach (var pupil in (await beside.ListAsync(viewer, 0, Finder.OfEach, cancel)).Where(pupil => pupil.Lessons))
            {
                asked.Add(new(await AboutAsync(db.Set<Lesson>().Where(l => l.PupilId == pupil.PupilId), pupil.Name, question, cancel), pupil.Name, $"/diary/beside/{pupil.PupilId}"));
            }
        }

        return asked.Count == 0 ? [] : [.. (await ReadAsync(asked, cancel)).DistinctBy(one => one.Id).Take(most)];
    }

    private async Task<IReadOnlyList<Found>> ReadAsync(List<Asked> asked, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var together = new ReadTogether(db);
        instructors.Ahead(together);
        school.Ahead(together);
        var parts = asked.ConvertAll(one => (one,
            Next: together.Ask(one.Rows.AsNoTracking().Where(l => l.State == LessonState.Booked && l.EndsAt > now).OrderBy(l => l.StartsAt).Take(Next)),
            Last: together.Ask(one.Rows.AsNoTracking().Where(l => l.State != LessonState.Cancelled && l.EndsAt <= now).OrderByDescending(l => l.StartsAt).Take(Last))));
        await together.RunAsync(cancel);
        var (facts, names) = (await school.GetAsync(cancel), await instructors.NamesAsync(cancel));
        return
        [
            .. parts.SelectMany(part => part.Next.All.Concat(part.Last.All), (part, lesson) => new Found(
                Kind, lesson.Id, $"{ScreenWords.DayAndYear(lesson.StartsAt.InZone(facts.Zone).Date)}, {facts.Time(lesson.StartsAt)}",
                string.Join(", ", new[] { part.one.Whose, $"with {names[lesson.InstructorId]}", LessonStateWords.Of(lesson, now, withCharge: false).Words.ToLowerInvariant() }.Where(words => words.Length > 0)),
                part.one.Page ?? $"/diary/lessons/{lesson.Id}", Fit.Words)),
        ];
    }

    /// <summary>All of them by the pupil's name or the word; else those with the instructors who are looked for.</summary>
    private async Task<IQueryable<Lesson>> AboutAsync(IQueryable<Lesson> lessons, string pupil, Question question, CancellationToken cancel)
    {
        var all = await instructors.ListAsync(alsoRetired: true, cancel);
        var plain = await db.PlainAsync([Itself, pupil, .. all.Select(card => card.Name)], cancel);
        if (question.Begins(plain[0]) || question.Begins(plain[1]))
        {
            return lessons;
        }

        Guid[] with = [.. all.Zip(plain.Skip(2)).Where(one => question.Begins(one.Second)).Select(one => one.First.Id)];
        return lessons.Where(l => with.Contains(l.InstructorId));
    }

    /// <param name="Rows">The lessons.</param>
    /// <param name="Whose">The pupil's name; empty for the viewer's own.</param>
    /// <param name="Page">Where they are looked at, where that is not the page of each.</param>
    private sealed record Asked(IQueryable<Lesson> Rows, string Whose, string? Page);
}
