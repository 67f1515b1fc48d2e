using NodaTime;
using NodaTime.TimeZones;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>
/// Writes the letters about a test day in the transaction of its change: to the pupil and to the instructor who goes along,
/// never to who did it. Reminders follow the test day: each change of it withdraws the old ones and writes new ones.
/// </summary>
internal sealed class TestDayMail(Outbox outbox, TestDayDates dates, PupilBook pupils, InstructorBook instructors, SchoolInfo school, IClock clock)
{
    private const int DaysBeforeLastFreeDay = 7;
    private static readonly LocalTime ReminderTime = new(17, 0);
    private static readonly string[] Reminders = [TestDayWording.LastFreeDay, TestDayWording.Tomorrow];

    public async Task EnteredAsync(TestDay test, Viewer by, CancellationToken cancel)
    {
        if (test.State is TestDayState.Booked)
        {
            var about = await AboutAsync(test, cancel);
            await TellAsync(about, by, TestDayWording.Entered, about.Facts(), cancel);
            await RemindAsync(about, cancel);
        }
    }

    public async Task ChangedAsync(TestDay test, Interval from, Guid? formerInstructorId, Viewer by, CancellationToken cancel)
    {
        await outbox.WithdrawAsync(test.Id, Reminders, cancel);
        var about = await AboutAsync(test, cancel);
        List<Fact> facts = [.. about.Facts(), Fact.Of(TestDayWording.Before, from.Start)];
        await TellAsync(about, by, TestDayWording.Changed, facts, cancel);
        if (formerInstructorId is { } former && former != test.InstructorId && by.InstructorId != former)
        {
            await WriteAsync(
                about, TestDayWording.Changed, "former_instructor", Receiver.Instructor(former), [.. facts, Fact.Of(TestDayWording.Left, 1)], test.BlockedFrom, cancel);
        }

        await RemindAsync(about, cancel);
    }

    public async Task TakenOffAsync(TestDay test, Viewer by, CancellationToken cancel)
    {
        await outbox.WithdrawAsync(test.Id, Reminders, cancel);
        var about = await AboutAsync(test, cancel);
        List<Fact> facts = about.Facts();
        if (test.Ending is TestEnding.CancelledByAgency)
        {
            facts.Add(Fact.Of(TestDayWording.ByAgency, 1));
        }

        await TellAsync(about, by, TestDayWording.TakenOff, facts, cancel);
    }

    /// <summary>The test is over: nothing is to be reminded of.</summary>
    public Task OverAsync(TestDay test, CancellationToken cancel) => outbox.WithdrawAsync(test.Id, Reminders, cancel);

    private async Task RemindAsync(About about, CancellationToken cancel)
    {
        var (zone, date, test) = (about.School.Zone, about.Date, about.Test);
        var lastFree = about.LastFreeDay.LastFreeDay;
        await BothAsync(TestDayWording.LastFreeDay, lastFree.PlusDays(-DaysBeforeLastFreeDay), zone.AtStartOfDay(lastFree.PlusDays(1)).ToInstant());
        await BothAsync(TestDayWording.Tomorrow, date.PlusDays(-1), test.StartsAt);

        async Task BothAsync(string kind, LocalDate on, Instant uselessAt)
        {
            // An hour that the clock skips is taken as much later; of one that comes twice the first.
            var due = zone.ResolveLocal(on + ReminderTime, Resolvers.LenientResolver).ToInstant();
            if (due <= about.Now)
            {
                return;
            }

            await WriteAsync(about, kind, "pupil", Receiver.Pupil(about.Pupil.Id), about.Facts(), uselessAt, cancel, due);
            if (about.Instructor is { } instructor)
            {
                await WriteAsync(about, kind, "instructor", Receiver.Instructor(instructor.Id), about.Facts(), uselessAt, cancel, due);
            }
        }
    }

    private async Task TellAsync(About about, Viewer by, string kind, IReadOnlyList<Fact> facts, CancellationToken cancel)
    {
        if (by.PupilId != about.Pupil.Id)
        {
            await WriteAsync(about, kind, "pupil", Receiver.Pupil(about.Pupil.Id), facts, about.Test.StartsAt, cancel);
        }

        if (about.Instructor is { } instructor && by.InstructorId != instructor.Id)
        {
            await WriteAsync(about, kind, "instructor", Receiver.Instructor(instructor.Id), facts, about.Test.StartsAt, cancel);
        }
    }

    private Task WriteAsync(
        About about, string kind, string to, Receiver receiver, IReadOnlyList<Fact> facts, Instant uselessAt, CancellationToken cancel, Instant? dueAt = null) =>
        outbox.WriteAsync(
            new(kind, $"{kind}:{about.Test.Id}:{about.Test.Sequence}:{to}", about.Test.Id, receiver, facts)
            {
                Acts = [new(TestDayWording.Open, $"/diary/test-days/{about.Test.Id}")],
                DueAt = dueAt,
                UselessAt = uselessAt,
            },
            cancel);

    private async Task<About> AboutAsync(TestDay test, CancellationToken cancel)
    {
        var instructor = test.InstructorId is { } id ? await instructors.FindAsync(id, cancel) : null;
        return new(
            test, (await pupils.CardsAsync([test.PupilId], cancel))[test.PupilId], instructor, await school.GetAsync(cancel),
            await dates.DeadlineAsync(test, cancel), clock.GetCurrentInstant());
    }

    private sealed record About(TestDay Test, PupilCard Pupil, InstructorCard? Instructor, SchoolFacts School, TestDeadline LastFreeDay, Instant Now)
    {
        public LocalDate Date => Test.StartsAt.InZone(School.Zone).Date;

        public List<Fact> Facts()
        {
            List<Fact> facts =
            [
                Fact.Of(TestDayWording.Pupil, Pupil.Name), Fact.Of(TestDayWording.Starts, Test.StartsAt), Fact.Of(TestDayWording.Centre, Words.Where(Test.Centre)),
                Fact.Of(TestDayWording.FreeUntil, LastFreeDay.LastFreeDay), Fact.Of(TestDayWording.SafeUntil, LastFreeDay.SaferDay),
                Fact.Of(TestDayWording.NoticeDays, LastFreeDay.NoticeDays),
            ];
            if (LastFreeDay.Over)
            {
                facts.Add(Fact.Of(TestDayWording.Over, 1));
            }

            if (Instructor is not null)
            {
                facts.AddRange(
                [
                    Fact.Of(TestDayWording.Instructor, Instructor.Name), Fact.Of(TestDayWording.PickUp, Test.PickUp.Label) with { From = Test.BlockedFrom },
                ]);
            }

            return facts;
        }
    }
}
