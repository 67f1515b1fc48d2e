using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Cars;
using School.Core.Diary.TestDays;
using School.Web.Modules.Diary.Settings;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.TestDays;

internal sealed record WarningJson(string Code, string Sentence);

/// <summary>How a test ended; <c>ruleSaysPassed</c> is what the marks say. The note is for staff.</summary>
internal sealed record TestResultJson(
    bool Passed, bool RuleSaysPassed, int Driving, int Serious, int Dangerous, IReadOnlyList<HeadingMarksBody> Faults, int EtaVerbal, int EtaPhysical, string? Note);

internal sealed record TestDayJson(
    Guid Id, Guid PupilId, Instant Start, Instant End, Instant BlockedFrom, Instant BlockedUntil, PlaceView Centre, string Nation, string Reference, Gearbox Gearbox,
    Guid? InstructorId, Guid? CarId, bool OwnCar, int LeadMinutes, int TailMinutes, PlaceView PickUp, bool EndsAtPickUp, LocalDate? InsuredForTestSeenOn,
    bool Extended, int Minutes, TestDayState State, TestEnding? Ending, LocalDate LastFreeDay, LocalDate SaferDay, int NoticeDays, string NoticeSource, LocalDate? RetestFrom, string? RetestSource,
    TestResultJson? Result, IReadOnlyList<WarningJson> Warnings)
{
    public static TestDayJson Of(TestDayCard card, Viewer viewer)
    {
        var test = card.Test;
        var result = !test.HasResult ? null : new TestResultJson(
            test.State is TestDayState.Passed, (test.Ending ?? TestEnding.Completed) is TestEnding.Completed && test.Sum.Pass, test.Driving, test.Serious, test.Dangerous,
            [.. test.Marks.Select(m => new HeadingMarksBody(m.Heading, m.Driving, m.Serious, m.Dangerous))], test.EtaVerbal, test.EtaPhysical,
            viewer.Towards(test.PupilId).IsStaff ? test.Note : null);
        return new(
            test.Id, test.PupilId, test.StartsAt, test.EndsAt, test.BlockedFrom, test.BlockedUntil, PlaceView.Of(test.Centre), NationSlugs.Of(test.Nation), test.Reference,
            test.Gearbox, test.InstructorId, test.CarId, test.OwnCar, test.LeadMinutes, test.TailMinutes, PlaceView.Of(test.PickUp), test.EndsAtPickUp, test.InsuredSeenOn,
            test.Extended, test.Minutes, test.State, test.HasResult ? test.Ending ?? TestEnding.Completed : test.Ending, card.Deadline.LastFreeDay, card.Deadline.SaferDay, card.Deadline.NoticeDays, $"{TestDayDates.NoticeSource}. Check the official page.",
            card.RetestFrom, card.RetestFrom is null ? null : TestDayDates.RetestSource, result, [.. card.Warnings.Select(w => new WarningJson(w.Code, w.Telling.For(viewer.Reader)))]);
    }
}

internal static class TestDayEndpoints
{
    public static void MapTestDays(this IEndpointRouteBuilder app)
    {
        var tests = app.MapApi("test-days");
        tests.MapGet("", ListAsync).Needs(Permission.SeeLessons)
            .WithName("ListTestDays").WithSummary("Test days in the order they were entered: one's own, those of one's pupils, or all.")
            .Produces<Page<TestDayJson>>().ProducesProblem(400);
        tests.MapPost("", EnterAsync).Needs(Permission.BookLessons).WithIdempotency()
            .WithName("EnterTestDay").WithSummary("Enters the day of an official practical test and keeps the time; the test itself is booked by the pupil alone.")
            .Produces<TestDayJson>(201).ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(422);
        tests.MapGet("settings", SettingsAsync).Needs(Permission.ManageSchool)
            .WithName("GetTestDaySettings").WithSummary("Minutes kept around a test and working days of notice, with their ETag.").Produces<TestDaySettingsBody>();
        tests.MapPut("settings", SaveSettingsAsync).Needs(Permission.ManageSchool).WithIdempotency()
            .WithName("SaveTestDaySettings").WithSummary("Saves them for test days entered from now on. Wants If-Match.")
            .Produces<TestDaySettingsBody>().ProducesProblem(400).ProducesProblem(412).ProducesProblem(428);
        tests.MapGet("headings", Headings).Needs(Permission.SeeLessons)
            .WithName("ListTestHeadings").WithSummary("The headings of the marking sheet, in its order, with their codes. Eyesight (1a) is passed or failed: it takes no driving fault.").Produces<Page<TestHeading>>().ProducesProblem(400);
        tests.MapGet("{id:guid}", GetAsync).Needs(Permission.SeeLessons)
            .WithName("GetTestDay").WithSummary("One test day with its ETag, its dates and what should be looked at.").Produces<TestDayJson>().ProducesProblem(404);
        tests.MapPut("{id:guid}", ChangeAsync).Needs(Permission.BookLessons).WithIdempotency()
            .WithName("ChangeTestDay").WithSummary("Changes a test day that is ahead. Wants If-Match.")
            .Produces<TestDayJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(412).ProducesProblem(422).ProducesProblem(428);
        tests.MapDelete("{id:guid}", TakeOffAsync).Needs(Permission.BookLessons).WithIdempotency()
            .WithName("TakeOffTestDay").WithSummary("Takes a test day off the diary; it stays readable, and the official test is untouched. If-Match is honoured when sent.")
            .Produces(204).ProducesProblem(404).ProducesProblem(409).ProducesProblem(412);
        tests.MapPut("{id:guid}/result", RecordAsync).Needs(Permission.BookLessons).WithIdempotency()
            .WithName("RecordTestResult").WithSummary("Records how the test ended, or puts that right; one that was not held is off the diary, and what the agency cancelled may be still ahead. 422 when the marks and the pass rule disagree. Wants If-Match.")
            .Produces<TestDayJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(412).ProducesProblem(422).ProducesProblem(428);
    }

    private static async Task<IResult> ListAsync(
        Guid? pupilId, int? limit, string? cursor, TestDayAccess access, TestDayReader reader, Viewer viewer, CancellationToken cancel)
    {
        var rows = access.Visible(viewer).AsNoTracking().Where(t => pupilId == null || t.PupilId == pupilId);
        var page = await rows.PageByIdAsync(limit, cursor, row => row, cancel);
        if (!page.Ok)
        {
            return page.Refusal.ToProblem();
        }

        var cards = await reader.CardsAsync(page.Value.Items, viewer, cancel);
        return Results.Ok(new Page<TestDayJson>([.. cards.Select(card => TestDayJson.Of(card, viewer))], page.Value.Next));
    }

    private static async Task<IResult> EnterAsync(
        TestDayRequest request, HttpContext context, EnterTestDay enter, TestDayReader reader, Viewer viewer, CancellationToken cancel)
    {
        var outcome = await enter.RunAsync(viewer, request, cancel);
        return outcome.Ok
            ? ETags.Created(context, outcome.Value, $"{ApiSetup.Prefix}/test-days/{outcome.Value.Id}", await ShapeAsync(outcome.Value, reader, viewer, cancel))
            : outcome.Refusal.ToProblem();
    }

    private static async Task<IResult> GetAsync(Guid id, HttpContext context, TestDayReader reader, Viewer viewer, CancellationToken cancel) =>
        await reader.FindAsync(id, viewer, cancel) is { } card ? ETags.OkWithMore(context, card.Test.Version, TestDayJson.Of(card, viewer)) : Refusal.NotFound("test day").ToProblem();

    private static async Task<IResult> ChangeAsync(
        Guid id, TestDayRequest request, HttpContext context, ChangeTestDay change, TestDayReader reader, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context) ?? await AnswerAsync(await change.RunAsync(viewer, id, request, ETags.Wanted(context), cancel), context, reader, viewer, cancel);

    private static async Task<IResult> TakeOffAsync(Guid id, HttpContext context, TakeOffTestDay takeOff, Viewer viewer, CancellationToken cancel) =>
        (await takeOff.RunAsync(viewer, id, ETags.Wanted(context), cancel)).ToResult(_ => Results.NoContent());

    private static async Task<IResult> RecordAsync(
        Guid id, TestResultRequest request, HttpContext context, RecordTestResult record, TestDayReader reader, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context) ?? await AnswerAsync(await record.RunAsync(viewer, id, request, ETags.Wanted(context), cancel), context, reader, viewer, cancel);

    private static async Task<IResult> SettingsAsync(HttpContext context, SchoolDb db, CancellationToken cancel)
    {
        var row = await db.Set<TestDaySettings>().AsNoTracking().SingleAsync(cancel);
        return ETags.Ok(context, row, TestDaySettingsBody.Of(row));
    }

    private static async Task<IResult> SaveSettingsAsync(TestDaySettingsBody body, HttpContext context, SaveTestDaySettings save, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context) ?? (await save.RunAsync(viewer, body, ETags.Wanted(context), cancel)).ToRow(context, TestDaySettingsBody.Of);

    private static IResult Headings(int? limit, string? cursor) => TestHeadings.All.PageOf(limit, cursor, heading => heading.Code).ToResult();

    private static async Task<IResult> AnswerAsync(Outcome<TestDay> outcome, HttpContext context, TestDayReader reader, Viewer viewer, CancellationToken cancel) =>
        outcome.Ok ? ETags.Ok(context, outcome.Value, await ShapeAsync(outcome.Value, reader, viewer, cancel)) : outcome.Refusal.ToProblem();

    private static async Task<TestDayJson> ShapeAsync(TestDay row, TestDayReader reader, Viewer viewer, CancellationToken cancel) =>
        TestDayJson.Of((await reader.CardsAsync([row], viewer, cancel))[0], viewer);
}
