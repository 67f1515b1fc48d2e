using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.Slots;
using School.Core.Diary.Time;
using School.Web.Modules.Diary.Day;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Hours;

/// <summary>One span of working hours; until further notice when it has no last date.</summary>
internal sealed record HoursRequest(IsoDayOfWeek Day, LocalTime Start, LocalTime End, LocalDate From, LocalDate? To = null)
{
    public WorkingHours ToHours() => new(Day, Start, End, From, To);
}

/// <summary>The span as it now stands, or that went, and the booked lessons that are now outside working hours.</summary>
internal sealed record HoursChanged(WorkingHoursRow Row, IReadOnlyList<Guid> Affected);

/// <summary>The part that all changes of working hours share. Booked lessons stay, are told at once, and wait on the office's list.</summary>
internal sealed class HoursEdit(SchoolDb db, InstructorBook instructors, DiaryCheck check)
{
    public const string Span = "span of working hours";

    private static readonly LocalDate Earliest = new(2000, 1, 1);
    private static readonly LocalDate Latest = new(2200, 12, 31);

    public async Task<Outcome<HoursChanged>> InDiaryAsync(
        Viewer viewer, Guid instructorId, Func<List<WorkingHoursRow>, string, Outcome<WorkingHoursRow>> change, CancellationToken cancel)
    {
        if (!viewer.KeepsDiaryOf(instructorId) || await instructors.FindAsync(instructorId, cancel) is not { } instructor)
        {
            return Refusal.NotFound("instructor");
        }

        return await db.InTransactionAsync<HoursChanged>(
            async cancel =>
            {
                await db.LockAsync([$"working-hours:{instructorId}"], cancel);
                var changed = change(await db.Set<WorkingHoursRow>().Where(h => h.InstructorId == instructorId).ToListAsync(cancel), instructor.Name);
                if (!changed.Ok)
                {
                    return changed.Refusal;
                }

                await db.SaveChangesAsync(cancel);
                var impossible = await check.FindAsync(instructorId, cancel);
                return new HoursChanged(changed.Value, [.. impossible.Where(i => i.Refusal.Rule == SlotRule.OutsideWorkingHours).Select(i => i.LessonId)]);
            },
            cancel);
    }

    public static string Words(WorkingHoursRow row) => $"{row.Day} {ScreenWords.Times(row.Start, row.End)}";

    public static Refusal? Problem(HoursRequest request, IEnumerable<WorkingHoursRow> others)
    {
        var errors = new FieldErrors()
            .When(request.From < Earliest || request.From > Latest, nameof(request.From), "Look at the year of the first date.")
            .When(request.To > Latest, nameof(request.To), "Look at the year of the last date.")
            .When(request.End == LocalTime.Midnight, nameof(request.End), "Hours end by 23:59 on the day on which they start.");
        List<WorkingHours> all = [.. others.Select(o => o.ToHours()), request.ToHours()];
        foreach (var problem in WorkingHours.Problems(all).Where(p => p.Index == all.Count - 1))
        {
            errors.Add(problem.Field, problem.Sentence);
        }

        return errors.ToRefusal();
    }
}
