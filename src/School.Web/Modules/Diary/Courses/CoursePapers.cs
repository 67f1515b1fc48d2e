using NodaTime;
using School.Core.Pupils;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Courses;

/// <summary>Looks at a pupil's papers before a course: what would stop its first lesson refuses it, the rest is told.</summary>
internal sealed class CoursePapers(IPupilDiary diary, SchoolInfo school)
{
    /// <summary>What a course is nearly always for is a test at its end, so the theory certificate is asked for on its last day.</summary>
    private static readonly HashSet<string> Told = new(["licence_glasses", "eyesight_unchecked", "theory_missing", "theory_lapsed", "theory_ends_before_test"], StringComparer.Ordinal);

    /// <summary>What is to be settled, the most serious first; or why there can be no course from the first day on.</summary>
    public async Task<Outcome<List<CourseNote>>> LookAsync(PupilCard pupil, LocalDate first, LocalDate last, CancellationToken cancel)
    {
        if (Eligibility.Of(pupil.Learner(first), first).FirstOrDefault(block => block.Stops) is { } stop)
        {
            // What is still to be asked comes with where it is entered, as in booking.
            return stop.Code == FirstLessonNeedsWords.Code ? new StillNeeded(pupil.Id, pupil.Missing).ToRefusal() : Refusal.Rule(stop.Code, stop.Telling);
        }

        var zone = (await school.GetAsync(cancel)).Zone;
        var tests = (await diary.TestsAsync(pupil.Id, cancel)).Where(test => !test.IsTakenOff).ToList();
        var passed = tests.Where(test => test.Passed == true && Licence.PassStands(pupil.Licence, test.StartsAt.InZone(zone).Date)).ToList();
        var ahead = tests.Where(test => test.Passed is null).Select(test => (LocalDate?)test.StartsAt.InZone(zone).Date).Where(day => day >= last).Min();
        var facts = new PaperFacts(
            pupil.Learner(first), pupil.TheoryPassedOn, pupil.LicenceCheckedOn, ahead, passed.Count > 0, passed.Exists(test => test.Allows(pupil.Gearbox)));
        var ends = PupilPapers.Of(facts, first).Where(item => item.Code == "licence_ends" && item.On < last);
        return PupilPapers.Of(facts, last).Where(item => Told.Contains(item.Code)).Concat(ends).Select(item => new CourseNote(item.Code, item.Telling.ToStaff)).ToList();
    }
}
