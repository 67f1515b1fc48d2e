using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Syllabus;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Syllabus.Lessons;
using School.Web.Modules.Syllabus.Practice;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Syllabus.Progress;

/// <summary>Puts a pupil's progress together for pages, exports and the API.</summary>
internal sealed class ProgressReader(
    SchoolDb db, LearningReader learning, SyllabusBook syllabus, PracticeBook practice, PupilBook pupils, InstructorBook instructors, SchoolInfo school, Viewer viewer, IClock clock)
{
    /// <summary>What a pupil learned; null where there is no such pupil or the viewer may not see them.</summary>
    /// <param name="pupilId">Whose.</param>
    /// <param name="withWriters">Whether it is shown who wrote each record; else that is not read, and null.</param>
    /// <param name="cancel">Stops.</param>
    /// <param name="beside">What is asked on the same way to the database.</param>
    public async Task<PupilProgress?> FindAsync(Guid pupilId, bool withWriters, CancellationToken cancel, Action<ReadTogether>? beside = null)
    {
        var together = new ReadTogether(db);
        school.Ahead(together);
        instructors.Ahead(together);
        var found = pupils.Find(together, pupilId, viewer);
        beside?.Invoke(together);
        await together.RunAsync(cancel);
        return found() is { } pupil ? await OfAsync(pupil, withWriters, cancel) : null;
    }

    /// <summary>The same as somebody beside the pupil sees it: how far they have come, and nothing of what was written to them or they wrote; null where they do not let that be seen.</summary>
    public async Task<PupilProgress?> FindAsync(PupilBeside allowed, CancellationToken cancel)
    {
        if (!allowed.Progress)
        {
            return null;
        }

        var together = new ReadTogether(db);
        school.Ahead(together);
        instructors.Ahead(together);
        var found = pupils.Cards(together, [allowed.PupilId]);
        await together.RunAsync(cancel);
        return (await OfAsync(found()[allowed.PupilId], withWriters: false, cancel)).ForThoseBeside();
    }

    private async Task<PupilProgress> OfAsync(PupilCard pupil, bool withWriters, CancellationToken cancel)
    {
        var pupilId = pupil.Id;
        var learned = await learning.OfPupilAsync(pupilId, cancel);
        var editions = new Dictionary<int, SyllabusEdition>();
        foreach (var number in learned.Lessons.Select(lesson => lesson.Record?.Edition).OfType<int>().Distinct())
        {
            editions[number] = (await syllabus.FindAsync(number, cancel))!;
        }

        var names = await instructors.NamesAsync(cancel);
        var recorders = withWriters ? await RecordersAsync(learned, cancel) : [];
        var lessons = learned.Lessons.Select(lesson => Line(lesson, editions, names, recorders)).ToList();
        var today = (await school.GetAsync(cancel)).Today(clock);
        var settings = await syllabus.SettingsAsync(cancel);
        var stale = NextSkills.Of(learned.Edition, learned.Standings, today, settings.StaleDays).Stale.Select(standing => standing.Skill).ToHashSet(StringComparer.Ordinal);
        var marks = lessons.SelectMany(lesson => lesson.Levels, (lesson, given) => (given.Key, lesson, given)).ToLookup(mark => mark.Key, StringComparer.Ordinal);
        SkillLine Skill(Skill skill, string? group)
        {
            var standing = learned.Standings.GetValueOrDefault(skill.Key);
            // A standing has a move for each mark, in the same order.
            var moves = marks[skill.Key].Zip(standing?.Moves ?? [], (mark, move) => new LevelMove(mark.lesson.Id, move, mark.lesson.Instructor, mark.given.Name));
            return new(skill, group, standing, [.. moves], stale.Contains(skill.Key));
        }

        var lines = learned.Edition.Groups.SelectMany(group => group.Skills, (group, skill) => Skill(skill, group.Name));
        var retired = (await syllabus.RetiredAsync(learned.Edition, cancel)).Where(skill => marks.Contains(skill.Key)).Select(skill => Skill(skill, null));
        return new(pupil, learned.Edition, [.. lines], [.. retired], lessons, await practice.OfPupilAsync(pupilId, cancel), today);
    }

    private static RecordedLesson Line(
        LearnedLesson lesson, Dictionary<int, SyllabusEdition> editions, IReadOnlyDictionary<Guid, string> names, Dictionary<Guid, string> recorders)
    {
        var (card, record) = (lesson.Lesson, lesson.Record);
        var levels = record?.Levels.Select(given => new NamedLevel(given.Skill, editions[record.Edition].Find(given.Skill)?.Name ?? given.Skill, given.Level)) ?? [];
        return new(
            card.Id, lesson.On, card.MinutesTaught, names.GetValueOrDefault(card.InstructorId, ""), recorders.GetValueOrDefault(card.Id), record?.Edition,
            [.. levels], card.Note, record?.Aim ?? "", record?.Route, record?.Miles, record?.Reflection ?? "");
    }

    /// <summary>Who wrote each record last, by lesson.</summary>
    private async Task<Dictionary<Guid, string>> RecordersAsync(PupilLearning learned, CancellationToken cancel)
    {
        var records = learned.Lessons.Select(lesson => lesson.Record).OfType<LessonRecord>().ToDictionary(record => record.LessonId);
        var ids = records.Keys.ToArray();
        var changes = await db.Set<LessonRecordChange>().AsNoTracking().Where(c => ids.Contains(c.LessonId))
            .Select(c => new { c.LessonId, c.At, c.ByPersonId, c.ByName }).ToListAsync(cancel);
        // What the pupil added of their own is a change too, and no record.
        return changes.Where(c => c.ByPersonId == records[c.LessonId].RecordedBy).GroupBy(c => c.LessonId).ToDictionary(of => of.Key, of => of.MaxBy(c => c.At)!.ByName);
    }
}
