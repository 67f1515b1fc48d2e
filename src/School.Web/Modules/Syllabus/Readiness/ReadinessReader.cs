using NodaTime;
using School.Core.Syllabus;
using School.Core.Syllabus.Readiness;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Syllabus.Contracts;
using School.Web.Modules.Syllabus.Practice;

namespace School.Web.Modules.Syllabus.Readiness;

/// <summary>A skill that counts and does not stand at the goal yet; no level where it was never marked.</summary>
internal sealed record OpenSkill(Skill Skill, SkillLevel? Level);

/// <summary>A started skill that no lesson has touched for a while.</summary>
internal sealed record StaleSkill(Skill Skill, LocalDate LastOn);

/// <summary>A pupil's way to ready and the forecast, on a day.</summary>
internal sealed record PupilReadiness(
    Guid PupilId,
    LocalDate On,
    ReadinessTerms Terms,
    ReadinessForecast Forecast,
    IReadOnlyList<CoursePoint> Points,
    IReadOnlyList<OpenSkill> Open,
    IReadOnlyList<StaleSkill> Stale,
    IReadOnlyList<string> NotAwaited,
    IReadOnlyList<MockCard> Mocks,
    LocalDate? PassedOn)
{
    public const string Caution = "This is arithmetic. The instructor decides.";

    /// <summary>So far at the first marks, in the first lessons: nobody comes in so few hours. Common practice, no source.</summary>
    private const double FarAtFirst = 0.2;
    private const double FirstHours = 3;

    /// <summary>Whether the pupil came with hours of which this record knows nothing, so that the forecast is too short.</summary>
    public bool BeganElsewhere => Points.FirstOrDefault(point => point.Marked) is { Score: >= FarAtFirst, LessonHours: <= FirstHours };

    public int SkillsThere => Terms.Skills.Count - Open.Count;
}

/// <summary>Reckons readiness from what the school has recorded. Who may see it is for the caller to have asked.</summary>
internal sealed class ReadinessReader(
    LearningReader learning, CourseReader courses, CourseMemory memory, PracticeBook practice, MockBook mocks, SyllabusBook syllabus, TestBook tests, SchoolInfo school, IClock clock)
{
    /// <summary>Of finished pupils only the latest so many are looked at: more would add little, and the school of years ago less.</summary>
    public const int MostFinished = 100;

    /// <summary>The latest so many mock tests are shown beside the forecast.</summary>
    private const int MostMocks = 3;

    public async Task<PupilReadiness> OfPupilAsync(Guid pupilId, CancellationToken cancel)
    {
        var settings = await syllabus.SettingsAsync(cancel);
        var learned = await learning.OfPupilAsync(pupilId, cancel);
        var zone = (await school.GetAsync(cancel)).Zone;
        var now = clock.GetCurrentInstant();
        var today = now.InZone(zone).Date;
        var terms = TermsOf(learned.Edition, settings);
        var course = CourseUntil(now, today, learned, await practice.OfPupilAsync(pupilId, cancel));
        var finished = await FinishedAsync(cancel);
        var others = finished.Pupils.Zip(finished.Lessons(terms)).Where(pair => pair.First.PupilId != pupilId && pair.First.PassedOn <= today);
        var experience = Experience.Of(terms, [.. others.Select(pair => pair.Second).OfType<FinishedCourse>()]);
        var passed = await tests.PassedAsync(1, cancel, pupilId);
        return new(
            pupilId,
            today,
            terms,
            ReadinessForecast.Of(course, today, terms, experience),
            course.Points(terms),
            OpenOf(learned, terms),
            [.. NextSkills.Of(learned.Edition, learned.Standings, today, settings.StaleDays).Stale.Select(stale => new StaleSkill(learned.Edition.Find(stale.Skill)!, stale.LastOn))],
            [.. learned.Edition.Skills.Where(skill => !terms.Skills.Contains(skill.Key)).Select(skill => skill.Name)],
            [.. (await mocks.OfPupilAsync(pupilId, cancel)).Reverse().Take(MostMocks)],
            passed.Count == 0 ? null : passed[0].StartsAt.InZone(zone).Date);
    }

    /// <summary>The latest finished pupils with their courses.</summary>
    public async Task<FinishedPupils> FinishedAsync(CancellationToken cancel)
    {
        var passed = (await tests.PassedAsync(MostFinished, cancel)).Reverse().ToList();
        var known = await courses.OfPupilsAsync(passed.Select(test => test.PupilId), cancel);
        var zone = (await school.GetAsync(cancel)).Zone;
        var of = passed.ConvertAll(test => (test, known[test.PupilId]));
        return memory.Finished is { } finished && finished.IsOf(of, zone) ? finished : memory.Finished = new(of, zone);
    }

    public async Task<ReadinessTerms> TermsAsync(CancellationToken cancel) =>
        TermsOf(await syllabus.CurrentAsync(cancel), await syllabus.SettingsAsync(cancel));

    private static ReadinessTerms TermsOf(SyllabusEdition edition, SyllabusSettings settings) => ReadinessTerms.Of(edition, settings.PracticeWeight / 100.0);

    private static Course CourseUntil(Instant end, LocalDate on, PupilLearning learned, IEnumerable<PracticeCard> practised) => new(
        [.. learned.Lessons.Where(lesson => lesson.Lesson.StartsAt < end).Select(lesson => lesson.Taught)],
        [.. practised.Where(drive => drive.On <= on).Select(drive => new PracticeTime(drive.On, drive.Minutes))]);

    private static List<OpenSkill> OpenOf(PupilLearning learned, ReadinessTerms terms) =>
    [
        .. learned.Edition.Skills.Where(skill => terms.Skills.Contains(skill.Key))
            .Select(skill => new OpenSkill(skill, learned.Standings.TryGetValue(skill.Key, out var standing) ? standing.Level : null))
            .Where(skill => skill.Level is null or < ReadinessTerms.Goal),
    ];
}
