using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.TestDays;
using School.Core.Syllabus.Mocks;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Syllabus.Mocks;

/// <summary>Begins a mock test, adds to it tap by tap or takes it as a whole, finishes it and puts it right later.</summary>
internal sealed class SaveMockTest(SchoolDb db, PupilBook pupils, LessonBook lessons, SchoolInfo school, IClock clock)
{
    private const int LessonsBack = 200;

    public Task<Outcome<MockTest>> AddAsync(Guid pupilId, MockTestRequest request, Viewer viewer, CancellationToken cancel) => db.InTransactionAsync<MockTest>(async cancel =>
    {
        if (await pupils.FindAsync(pupilId, viewer, cancel) is null)
        {
            return Refusal.NotFound("pupil");
        }

        var mock = new MockTest
        {
            PupilId = pupilId,
            On = default,
            StartedAt = clock.GetCurrentInstant(),
            RecordedBy = viewer.PersonId,
            RecordedByName = viewer.Name,
        };
        if (await FillAsync(mock, request, viewer, cancel) is { } refusal)
        {
            return refusal;
        }

        return db.Add(mock).Entity;
    }, cancel);

    /// <summary>Takes the whole of it over.</summary>
    public Task<Outcome<MockTest>> ReplaceAsync(Guid id, int? version, MockTestRequest request, Viewer viewer, CancellationToken cancel) =>
        ChangeAsync(id, version, viewer, mock => FillAsync(mock, request, viewer, cancel), cancel);

    /// <summary>One tap: one fault more.</summary>
    public Task<Outcome<MockTest>> AddFaultAsync(Guid id, string heading, FaultKind kind, Viewer viewer, CancellationToken cancel) => TapAsync(id, viewer, mock =>
    {
        var request = MockTestRequest.Of(mock);
        return request with { Faults = [.. request.Faults!, new(heading, kind)] };
    }, cancel);

    /// <summary>Takes the last fault back.</summary>
    public Task<Outcome<MockTest>> UndoAsync(Guid id, Viewer viewer, CancellationToken cancel) => ChangeAsync(id, null, viewer, mock =>
    {
        var last = mock.Faults.MaxBy(fault => fault.Number);
        mock.Faults = [.. mock.Faults.Where(fault => fault != last)];
        return Task.FromResult<Refusal?>(last is null ? Refusal.Rule("nothing_to_undo", "There is no fault to take back.") : null);
    }, cancel);

    public Task<Outcome<MockTest>> RemoveAsync(Guid id, int number, Viewer viewer, CancellationToken cancel) => ChangeAsync(id, null, viewer, mock =>
    {
        var left = mock.Faults.Where(fault => fault.Number != number).ToList();
        var gone = left.Count == mock.Faults.Count;
        mock.Faults = left;
        return Task.FromResult<Refusal?>(gone ? Refusal.Rule("fault_gone", "This fault was removed already.") : null);
    }, cancel);

    public Task<Outcome<MockTest>> NoteAsync(Guid id, int number, string? note, Viewer viewer, CancellationToken cancel) => ChangeAsync(id, null, viewer, mock =>
    {
        var errors = new FieldErrors();
        var words = errors.ReadLine("Note", note, MockTest.LongestFaultNote);
        mock.Faults = [.. mock.Faults.Select(fault => fault.Number == number ? fault with { Note = words } : fault)];
        return Task.FromResult(errors.ToRefusal());
    }, cancel);

    public Task<Outcome<MockTest>> FinishAsync(Guid id, int etaVerbal, int etaPhysical, string? note, Viewer viewer, CancellationToken cancel) => TapAsync(
        id, viewer, mock => MockTestRequest.Of(mock) with { EtaVerbal = etaVerbal, EtaPhysical = etaPhysical, Note = note, Finished = true }, cancel);

    /// <summary>Throws away one that was begun by mistake; a finished one stays.</summary>
    public Task<Outcome<MockTest>> DiscardAsync(Guid id, Viewer viewer, CancellationToken cancel) => ChangeAsync(id, null, viewer, mock =>
    {
        if (mock.FinishedAt is not null)
        {
            return Task.FromResult<Refusal?>(Refusal.Conflict("mock_finished", "This mock test is finished, so it stays. Put right what is wrong about it."));
        }

        db.Remove(mock);
        return Task.FromResult<Refusal?>(null);
    }, cancel);

    private Task<Outcome<MockTest>> TapAsync(Guid id, Viewer viewer, Func<MockTest, MockTestRequest> change, CancellationToken cancel) =>
        ChangeAsync(id, null, viewer, mock => FillAsync(mock, change(mock), viewer, cancel), cancel);

    private Task<Outcome<MockTest>> ChangeAsync(Guid id, int? version, Viewer viewer, Func<MockTest, Task<Refusal?>> change, CancellationToken cancel) =>
        db.InTransactionAsync<MockTest>(async cancel =>
        {
            // Two quick taps come one after the other, and both count.
            await db.LockAsync([$"mock-test:{id}"], cancel);
            var taken = await db.Set<MockTest>().VisibleTo(viewer).TakeAsync(id, version, "mock test", cancel);
            if (!taken.Ok)
            {
                return taken;
            }

            var mock = taken.Value;
            var (before, wasFinished) = (MockTestRequest.Of(mock), mock.FinishedAt is not null);
            if (await change(mock) is { } refusal)
            {
                return refusal;
            }

            if (wasFinished && MockDifference.Words(before, MockTestRequest.Of(mock)) is { Length: > 0 } words)
            {
                db.Add(new MockTestChange { MockTestId = id, At = clock.GetCurrentInstant(), ByPersonId = viewer.PersonId, ByName = viewer.Name, Words = words });
            }

            if (db.Entry(mock).State is not EntityState.Deleted && MockDifference.Any(before, MockTestRequest.Of(mock)))
            {
                mock.Touch();
            }

            return mock;
        }, cancel);

    private async Task<Refusal?> FillAsync(MockTest mock, MockTestRequest request, Viewer viewer, CancellationToken cancel)
    {
        var errors = new FieldErrors();
        var (zone, today) = ((await school.GetAsync(cancel)).Zone, (await school.GetAsync(cancel)).Today(clock));
        var on = request.On ?? today;
        if (request.LessonId is { } lessonId && (request.On is null || lessonId != mock.LessonId))
        {
            var lesson = (await lessons.OfPupilAsync(mock.PupilId, LessonsBack, viewer, cancel)).FirstOrDefault(l => l.Id == lessonId);
            errors.When(lesson is null, nameof(request.LessonId), "Choose one of this pupil's lessons, or none.");
            on = request.On ?? lesson?.StartsAt.InZone(zone).Date ?? today;
        }

        errors.When(on > today, nameof(request.On), "This day is still to come. A mock test is recorded once it was driven.")
            .When(on < today.PlusYears(-5), nameof(request.On), "This is more than five years ago. Check the year.");
        foreach (var (field, count) in new[] { (nameof(request.EtaVerbal), request.EtaVerbal), (nameof(request.EtaPhysical), request.EtaPhysical) })
        {
            errors.When(count is < 0 or > MockTest.MostEta, field, $"A number from 0 to {MockTest.MostEta}.");
        }

        errors.When(mock.FinishedAt is not null && !request.Finished, nameof(request.Finished), "This mock test is finished and stays so.");
        var faults = request.ReadFaults(mock, errors);
        var note = errors.ReadLines(nameof(request.Note), request.Note, MockTest.LongestNote);
        if (errors.ToRefusal() is { } refusal)
        {
            return refusal;
        }

        (mock.On, mock.LessonId, mock.EtaVerbal, mock.EtaPhysical, mock.Note) = (on, request.LessonId, request.EtaVerbal, request.EtaPhysical, note);
        mock.Faults = faults;
        mock.FinishedAt ??= request.Finished ? clock.GetCurrentInstant() : null;
        return null;
    }
}

/// <summary>What is different about a mock test, in words for its history.</summary>
internal static class MockDifference
{
    public static bool Any(MockTestRequest before, MockTestRequest after) =>
        before with { Faults = null } != after with { Faults = null } || !before.Faults!.SequenceEqual(after.Faults!);

    public static string Words(MockTestRequest before, MockTestRequest after)
    {
        var parts = new List<string>();
        parts.AddRange(Missing(before.Faults!, after.Faults!).Select(fault => $"removed {Of(fault)}"));
        parts.AddRange(Missing(after.Faults!, before.Faults!).Select(fault => $"added {Of(fault)}"));
        Add(before.On != after.On, $"day {ScreenWords.DayAndYear(before.On!.Value)} → {ScreenWords.DayAndYear(after.On!.Value)}");
        Add(before.LessonId != after.LessonId, "another lesson");
        Add(before.EtaVerbal != after.EtaVerbal, $"spoke up {before.EtaVerbal} → {after.EtaVerbal}");
        Add(before.EtaPhysical != after.EtaPhysical, $"took hold {before.EtaPhysical} → {after.EtaPhysical}");
        Add(before.Note != after.Note, $"the note, which was: {(before.Note!.Length > 0 ? $"“{before.Note}”" : "none")}");
        var words = string.Join("; ", parts);
        return words.Length == 0 ? "" : char.ToUpperInvariant(words[0]) + words[1..] + ".";

        void Add(bool changed, string what)
        {
            if (changed)
            {
                parts.Add(what);
            }
        }
    }

    private static List<MockFaultBody> Missing(IReadOnlyList<MockFaultBody> from, IReadOnlyList<MockFaultBody> among)
    {
        var left = among.ToList();
        return from.Where(fault => !left.Remove(fault)).ToList();
    }

    private static string Of(MockFaultBody fault) =>
        $"{TestHeadings.Find(fault.Heading)!.Words}, {fault.Kind.Word()}{(fault.Note is { Length: > 0 } note ? $" (“{note}”)" : "")}";
}
