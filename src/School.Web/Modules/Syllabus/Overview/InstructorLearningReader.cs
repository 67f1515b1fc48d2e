using NodaTime;
using School.Core.Syllabus;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Syllabus.Overview;

/// <summary>A pupil as the overview shows them.</summary>
/// <param name="Card">Who.</param>
/// <param name="Learning">All that they learned at the school.</param>
/// <param name="Stale">Started skills that no lesson has touched for a while, longest first.</param>
/// <param name="TestOn">The day of the test ahead, if there is one.</param>
internal sealed record OverviewPupil(PupilCard Card, PupilLearning Learning, IReadOnlyList<SkillStanding> Stale, LocalDate? TestOn)
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
    LearningReader learning, SyllabusBook syllabus, PupilBook pupils, LessonBook lessons, TestBook tests, SchoolInfo school, IClock clock)
{
    /// <summary>Taught within this time, a pupil of somebody else is in the overview too.</summary>
    public const int WeeksBack = 8;

    /// <param name="instructorId">Whose pupils; null for the whole school.</param>
    /// <param name="cancel">Stops.</param>
    public async Task<InstructorLearning> ReadAsync(Guid? instructorId, CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var (now, today) = (clock.GetCurrentInstant(), facts.Today(clock));
        var (settings, edition) = (await syllabus.SettingsAsync(cancel), await syllabus.CurrentAsync(cancel));
        var everybody = await pupils.OfSchoolAsync(cancel);
        var usual = instructorId is { } id ? await pupils.IdsOfInstructorAsync(id, cancel) : [];
        var theirs = usual.ToHashSet();
        if (instructorId is { } taughtBy)
        {
            theirs.UnionWith(await lessons.PupilsTaughtAsync(taughtBy, now - Duration.FromDays(7 * WeeksBack), cancel));
        }

        var shown = everybody.Where(card => instructorId is null || theirs.Contains(card.Id)).ToList();
        // What hours and tests teach is also learned from pupils who have left.
        var all = instructorId is null ? shown.Select(card => card.Id).ToHashSet() : [.. theirs];
        var known = await learning.OfPupilsAsync(all, cancel);
        var testsOf = instructorId is { } goingAlong
            ? [.. (await tests.OfPupilsAsync(all, cancel)).Concat(await tests.OfInstructorAsync(goingAlong, cancel)).DistinctBy(test => test.Id)]
            : await tests.AllAsync(cancel);
        var ahead = testsOf.Where(test => test.Passed is null && test.StartsAt > now).ToLookup(test => test.PupilId, test => test.StartsAt.InZone(facts.Zone).Date);
        var taken = testsOf.Where(test => test.Passed is not null && (instructorId is null || test.InstructorId == instructorId || usual.Contains(test.PupilId))).ToList();
        var passed = taken.Count(test => test.Passed == true);
        return new(
            edition, settings.StaleDays,
            [
                .. shown.Select(card => new OverviewPupil(
                    card, known[card.Id], NextSkills.Of(edition, known[card.Id].Standings, today, settings.StaleDays).Stale,
                    ahead[card.Id].Select(day => (LocalDate?)day).FirstOrDefault())),
            ],
            LevelHours.Of(known.Values.Select(of => of.Standings), SkillLevel.Independent),
            new(taken.Count, passed, WilsonInterval.Of(passed, taken.Count)));
    }
}
