using NodaTime;
using School.Core.Syllabus;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Syllabus.Overview;

/// <summary>A pupil as the overview shows them.</summary>
/// <param name="Card">Who.</param>
/// <param name="Learning">All that they learned at the school.</param>
/// <param name="Stale">Started skills that no lesson has touched for a while, longest first.</param>
/// <param name="TestOn">The day of the test ahead, if there is one.</param>
internal sealed record OverviewPupil(PupilCard Card, LearnedCourse Learning, IReadOnlyList<SkillStanding> Stale, LocalDate? TestOn)
{
    public SkillLevel? LevelOf(string skill) => Learning.Standings.GetValueOrDefault(skill)?.Level;
}

/// <summary>Results of official tests, and what so few say about the rate: 95 %.</summary>
internal sealed record TestRate(int Taken, int Passed, WilsonInterval? Interval);

/// <summary>How an instructor's pupils stand, or the whole school's.</summary>
internal sealed record InstructorLearning(
    SyllabusEdition Edition, int StaleDays, IReadOnlyList<OverviewPupil> Pupils, IReadOnlyDictionary<string, LevelHours> HoursToIndependent, TestRate Rate)
{
    /// <summary>How many pupils stand at each level of a skill; the key null is for not started.</summary>
    public int Count(string skill, SkillLevel? level) => Pupils.Count(pupil => pupil.LevelOf(skill) == level);

    public IEnumerable<OverviewPupil> NearTest => Pupils.Where(pupil => pupil.TestOn is not null).OrderBy(pupil => pupil.TestOn);

    public IEnumerable<OverviewPupil> Stale => Pupils.Where(pupil => pupil.Stale.Count > 0).OrderBy(pupil => pupil.Stale[0].LastOn);
}

/// <summary>Reads how pupils stand, by instructor: those whose usual instructor it is, or whom they taught lately.</summary>
internal sealed class InstructorLearningReader(
    CourseReader courses, SyllabusBook syllabus, PupilBook pupils, LessonBook lessons, TestBook tests, OwnPupils own, SchoolInfo school, Viewer viewer, IClock clock)
{
    /// <summary>Taught within this time, a pupil of somebody else is in the overview too: an instructor sees them for as long.</summary>
    public const int DaysBack = OwnPupils.DaysEachWay;

    /// <summary>What hours teach is also learned from so many who left last: more would add little, and the school of years ago less.</summary>
    public const int MostLeft = 100;

    /// <param name="instructorId">Whose pupils; null for the whole school.</param>
    /// <param name="cancel">Stops.</param>
    public async Task<InstructorLearning> ReadAsync(Guid? instructorId, CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var (now, today) = (clock.GetCurrentInstant(), facts.Today(clock));
        var (settings, edition) = (await syllabus.SettingsAsync(cancel), await syllabus.CurrentAsync(cancel));
        var (shown, left, usual) = instructorId is { } id
            ? await TheirsAsync(id, now, cancel)
            : (await pupils.OfSchoolAsync(cancel), [], []);
        if (instructorId is null || instructorId != viewer.InstructorId)
        {
            var sees = await own.OfAsync(viewer, [.. shown.Select(card => card.Id).Concat(left)], cancel);
            (shown, left) = ([.. shown.Where(card => sees[card.Id] != Sight.Name)], [.. left.Where(one => sees[one] != Sight.Name)]);
        }

        var known = await courses.OfPupilsAsync([.. shown.Select(card => card.Id), .. left], cancel);
        var ahead = await tests.NextAsync([.. shown.Select(card => card.Id)], now, cancel);
        var (taken, passed) = await tests.ResultsAsync(instructorId, usual, cancel);
        return new(
            edition, settings.StaleDays,
            [
                .. shown.Select(card => new OverviewPupil(
                    card, known[card.Id], NextSkills.Of(edition, known[card.Id].Standings, today, settings.StaleDays).Stale,
                    ahead.TryGetValue(card.Id, out var test) ? test.InZone(facts.Zone).Date : null)),
            ],
            LevelHours.Of(known.Values.Select(of => of.Standings), SkillLevel.Independent),
            new(taken, passed, WilsonInterval.Of(passed, taken)));
    }

    private async Task<(IReadOnlyList<PupilCard> Shown, IEnumerable<Guid> Left, IReadOnlyList<Guid> Usual)> TheirsAsync(Guid instructorId, Instant now, CancellationToken cancel)
    {
        var lately = await lessons.PupilsTaughtAsync(instructorId, now - Duration.FromDays(DaysBack), cancel);
        var shown = await pupils.LearningWithAsync(instructorId, lately, cancel);
        var left = (await pupils.LeftAsync(instructorId, MostLeft, cancel)).Concat(lately.Except(shown.Select(card => card.Id)));
        return (shown, left, await pupils.IdsOfInstructorAsync(instructorId, cancel));
    }
}
