using NodaTime;
using School.Core.Cars;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;

namespace School.Web.Modules.Diary.Courses;

/// <summary>A lesson of a course: <c>end</c> is <c>start</c> with the minutes of teaching and the breaks. It costs the instructor so many minutes of driving more; null where a place is still to be found.</summary>
internal sealed record CourseLineJson(
    Guid Id, ProposalAct Act, Guid? LessonId, IReadOnlyList<Guid> LessonIds, Guid? InstructorId, Guid? CarId, Instant? Start, Instant End, int Minutes,
    IReadOnlyList<BreakJson> Breaks, int? ExtraDrivingMinutes, ProposalCharge? Charge, IReadOnlyList<ProposalWhyNot> WhyNot)
{
    public static CourseLineJson Of(ProposalLine line, CourseDay day) => new(
        line.Id, line.Act, line.LessonId, line.LessonIds, line.InstructorId, line.CarId, line.Start, day.End, day.Minutes, BreakJson.Of(line.Start!.Value, day.Breaks),
        day.ExtraDrivingMinutes, line.Charge, line.WhyNot);
}

/// <summary>A course as it is proposed; once it was booked, <c>lines</c> are those that were, each with its lesson. <c>notes</c> are about the pupil's papers: what to settle before it; <c>leftOut</c> are public holidays.</summary>
internal sealed record CourseJson(
    Guid Id, ProposalState State, Guid PupilId, Guid InstructorId, Gearbox Gearbox, int Minutes, LocalDate From, LocalDate To, int MostMinutesADay, bool OnHolidays,
    IReadOnlyList<CourseLineJson> Lines, IReadOnlyList<CourseNote> Notes, IReadOnlyList<CourseHoliday> LeftOut)
{
    public static CourseJson Of(Proposal proposal, ProposalState state, Gearbox gearbox)
    {
        var (ask, more) = (CourseRules.AskOf(proposal), CourseRules.MoreOf(proposal));
        var days = more.Days.ToDictionary(day => day.Id);
        return new(
            proposal.Id, state, ask.PupilId, ask.InstructorId, gearbox, ask.Minutes, ask.From, ask.To, ask.MostMinutesADay, ask.OnHolidays,
            [.. proposal.LinesOf().Select(line => CourseLineJson.Of(line, days[line.Id]))], more.Notes, more.LeftOut);
    }
}

internal static class CourseEndpoints
{
    private const string Address = "courses";

    public static void MapCourses(this IEndpointRouteBuilder app)
    {
        var courses = app.MapApi(Address);
        courses.MapPost("", PlanAsync).Needs(Permission.PlanCourses).WithIdempotency()
            .WithName("PlanCourse")
            .WithSummary("Spreads an intensive course over the days of an instructor, a lesson with its breaks on each. Changes nothing yet; 422 course_no_room says how many minutes fit, what stands in the way (reasons) and with which days or minutes a day all of it would (cures); course_hours_impossible how many the lengths of its lessons can make up; kind_not_offered, pupil_left, instructor_left, and the code of the rule that would stop its first lesson.")
            .Produces<CourseJson>(201).ProducesProblem(400).ProducesProblem(404).ProducesProblem(422);
        courses.MapProposals(ProposalKind.Course, Permission.PlanCourses, "Course", TellAsync);
    }

    private static async Task<IResult> PlanAsync(CourseRequest request, HttpContext context, PlanCourse plan, Viewer viewer, CancellationToken cancel) =>
        await ProposalEndpoints.CreatedAsync(context, await plan.RunAsync(viewer, request, cancel), Address, TellAsync, viewer, cancel);

    private static async Task<CourseJson> TellAsync(ProposalContext context)
    {
        var pupilId = CourseRules.AskOf(context.Proposal).PupilId;
        var cards = await context.Services.GetRequiredService<PupilBook>().CardsAsync([pupilId], context.Cancel);
        return CourseJson.Of(context.Proposal, context.State, cards[pupilId].Gearbox);
    }
}
