using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Pupils;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary;

/// <summary>Working hours, and the lesson with which a school has begun.</summary>
internal sealed class DiarySteps(SchoolDb db, InstructorBook instructors, FirstPupils pupils, LessonBook lessons, SchoolInfo school, IClock clock) : IFirstSteps
{
    private const string HoursTitle = "Working hours";

    public async Task<IReadOnlyList<FirstStep>> ListAsync(string address, CancellationToken cancel) => [await HoursAsync(cancel), await LessonAsync(cancel)];

    private async Task<FirstStep> HoursAsync(CancellationToken cancel)
    {
        var (all, today) = (await instructors.ListAsync(alsoRetired: false, cancel), (await school.GetAsync(cancel)).Today(clock));
        // Most often the first has some: one row is read, and not those of everybody.
        InstructorCard? works = null;
        foreach (var one in all)
        {
            if (await db.Set<WorkingHoursRow>().AnyAsync(h => h.InstructorId == one.Id && (h.To == null || h.To >= today), cancel))
            {
                works = one;
                break;
            }
        }

        return works is not null ? new("hours", 50, true, HoursTitle, $"{works.Name} has working hours.", "", $"/diary/hours?instructorId={works.Id}")
            : all is [var first, ..] ? new("hours", 50, false, HoursTitle, $"{first.Name} has no working hours: nobody can book a lesson without.", "Add hours", $"/diary/hours-span?instructorId={first.Id}")
            : new("hours", 50, false, HoursTitle, "They are those of somebody who teaches, who comes first.", "", "");
    }

    private async Task<FirstStep> LessonAsync(CancellationToken cancel) => await lessons.AnyAsync(cancel)
        ? new(FirstSteps.LessonBooked, 80, true, "The first lesson", "It is booked.", "", "/diary/board")
        : new(
            FirstSteps.LessonBooked, 80, false, "The first lesson", "None is booked yet.", "Find a time",
            await pupils.ListAsync(cancel) is [{ Missing: FirstLessonNeeds.None } pupil, ..] ? $"/diary/lessons/new?pupilId={pupil.Id}" : "/diary/lessons/new");
}
