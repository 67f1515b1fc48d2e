using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.TestDays;
using School.Core.Syllabus.Mocks;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Mocks;

/// <summary>A mock test; <c>passed</c> is what the published rule makes of the marks.</summary>
internal sealed record MockTestJson(
    Guid Id, Guid PupilId, LocalDate On, Guid? LessonId, bool Finished, bool Passed, int Driving, int Serious, int Dangerous, IReadOnlyList<MockFaultBody> Faults,
    IReadOnlyList<MockHeadingJson> ByHeading, int EtaVerbal, int EtaPhysical, string Note, string RecordedBy, string RuleSource)
{
    public static MockTestJson Of(MockTest mock)
    {
        var sum = mock.Sum;
        return new(
            mock.Id, mock.PupilId, mock.On, mock.LessonId, mock.FinishedAt is not null, sum.Pass, sum.Driving, sum.Serious, sum.Dangerous,
            MockTestRequest.Of(mock).Faults!,
            [.. mock.ByHeading.Select(h => new MockHeadingJson(h.Heading, TestHeadings.Find(h.Heading)!.Words, h.Marks.Driving, h.Marks.Serious, h.Marks.Dangerous))],
            mock.EtaVerbal, mock.EtaPhysical, mock.Note, mock.RecordedByName, $"{MockMarking.Source}. Check the official page.");
    }
}

internal sealed record MockHeadingJson(string Heading, string Words, int Driving, int Serious, int Dangerous);

internal static class MockTestEndpoints
{
    public static void MapMockTests(this IEndpointRouteBuilder app)
    {
        var ofPupil = app.MapApi("pupils").MapGroup("{id:guid}/mock-tests");
        ofPupil.MapGet("", ListAsync).Needs(Permission.SeeLearning).OfPupil(Sight.ByReason).WithName("ListMockTests")
            .WithSummary("A pupil's mock tests in the order they were recorded; a pupil reads their own finished ones.")
            .Produces<Page<MockTestJson>>().ProducesProblem(400).ProducesProblem(404);
        ofPupil.MapPost("", AddAsync).Needs(Permission.RecordLessons).WithIdempotency().WithName("AddMockTest")
            .WithSummary("Records a mock test, begun or finished. Done parked afterwards, or by somebody who is not supervising the learner.")
            .Produces<MockTestJson>(201).ProducesProblem(400).ProducesProblem(404).ProducesProblem(409);
        var mocks = app.MapApi("mock-tests");
        mocks.MapGet("{id:guid}", GetAsync).Needs(Permission.SeeLearning).WithName("GetMockTest").WithSummary("One mock test with its ETag.")
            .Produces<MockTestJson>().ProducesProblem(404);
        mocks.MapPut("{id:guid}", ReplaceAsync).Needs(Permission.RecordLessons).WithIdempotency().WithName("SaveMockTest")
            .WithSummary("Takes a mock test over as a whole, with its faults; what is put right after it was finished goes to its history. Wants If-Match.")
            .Produces<MockTestJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(412).ProducesProblem(428);
    }

    private static async Task<IResult> ListAsync(Guid id, int? limit, string? cursor, PupilBook pupils, SchoolDb db, Viewer viewer, CancellationToken cancel) =>
        await pupils.FindAsync(id, viewer, cancel) is null ? Refusal.NotFound("pupil").ToProblem()
        : (await db.Set<MockTest>().AsNoTracking().VisibleTo(viewer).Where(m => m.PupilId == id).PageByIdAsync(limit, cursor, MockTestJson.Of, cancel)).ToResult();

    private static async Task<IResult> AddAsync(Guid id, MockTestRequest request, HttpContext context, AddMockTest add, Viewer viewer, CancellationToken cancel) =>
        (await add.RunAsync(viewer, id, request, cancel)).ToResult(mock => ETags.Created(context, mock, $"{ApiSetup.Prefix}/mock-tests/{mock.Id}", MockTestJson.Of(mock)));

    private static async Task<IResult> GetAsync(Guid id, HttpContext context, SchoolDb db, OwnPupils own, Viewer viewer, CancellationToken cancel) =>
        await db.Set<MockTest>().AsNoTracking().VisibleTo(viewer).SingleOrDefaultAsync(m => m.Id == id, cancel) is not { } mock ? Refusal.NotFound("mock test").ToProblem()
        : await own.RefuseUnseenAsync(viewer, mock.PupilId, cancel) is { } refused ? refused.ToProblem()
        : ETags.Ok(context, mock, MockTestJson.Of(mock));

    private static async Task<IResult> ReplaceAsync(Guid id, MockTestRequest request, HttpContext context, ReplaceMockTest replace, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context) ?? (await replace.RunAsync(viewer, id, request, ETags.Wanted(context), cancel)).ToRow(context, MockTestJson.Of);
}
