using NodaTime;
using School.Core.Syllabus;
using School.Core.Syllabus.Readiness;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Readiness;

/// <summary>Four times in five the truth lies between low and high.</summary>
internal sealed record RangeJson(double Low, double Median, double High)
{
    public static RangeJson Minutes(ReadinessRange hours) => new(Math.Round(hours.Low * 60), Math.Round(hours.Median * 60), Math.Round(hours.High * 60));

    public static RangeJson Weeks(ReadinessRange weeks) => new(Math.Round(weeks.Low, 1), Math.Round(weeks.Median, 1), Math.Round(weeks.High, 1));
}

internal sealed record OpenSkillJson(string Skill, string Name, SkillLevel? Level);

internal sealed record StaleSkillJson(string Skill, string Name, LocalDate LastOn);

/// <summary>A finished mock test, beside the forecast and not in it.</summary>
internal sealed record MockFaultsJson(Guid Id, LocalDate On, int Driving, int Serious, int Dangerous, bool Passed);

/// <summary>After a lesson with marks; progress is the mean over all skills that count, 1 when each stands at Independent or better.</summary>
internal sealed record ProgressPointJson(LocalDate On, int MinutesTaught, double Progress);

/// <summary>Weeks are null, with the reason, where there was no lesson lately. Who began elsewhere had hours that are not known, so the forecast is too short. Skills that the test does not wait for are left out of all but the stale ones.</summary>
internal sealed record ReadinessJson(
    Guid PupilId, LocalDate On, RangeJson LessonMinutesToGo, RangeJson? WeeksToGo, string? WhyNoWeeks, bool BeganElsewhere, bool ReadyOnRecord, double? Progress, int SkillsThere, int SkillsCounted,
    int MinutesTaught, int PracticeMinutes, double PracticeWeight, int? MinutesPerWeek, int FinishedPupils, LocalDate? PassedOn,
    IReadOnlyList<OpenSkillJson> Open, IReadOnlyList<StaleSkillJson> Stale, IReadOnlyList<MockFaultsJson> Mocks, IReadOnlyList<ProgressPointJson> History, string Caution, SharedForecastJson? Shared)
{
    public static ReadinessJson Of(PupilReadiness readiness, SharedForecast? shared)
    {
        var forecast = readiness.Forecast;
        return new(
            readiness.PupilId, readiness.On, RangeJson.Minutes(forecast.LessonHours), forecast.Weeks is { } weeks ? RangeJson.Weeks(weeks) : null, forecast.NoWeeks,
            readiness.BeganElsewhere, forecast.Ready, forecast.Score is { } score ? Math.Round(score, 3) : null, readiness.SkillsThere, readiness.Terms.Skills.Count,
            (int)Math.Round(forecast.Taught * 60), (int)Math.Round(forecast.Practised * 60), readiness.Terms.PracticeWeight,
            forecast.HoursPerWeek is { } pace ? (int)Math.Round(pace * 60) : null, forecast.Finished, readiness.PassedOn,
            [.. readiness.Open.Select(open => new OpenSkillJson(open.Skill.Key, open.Skill.Name, open.Level))],
            [.. readiness.Stale.Select(stale => new StaleSkillJson(stale.Skill.Key, stale.Skill.Name, stale.LastOn))],
            [.. readiness.Mocks.Select(mock => new MockFaultsJson(mock.Id, mock.On, mock.Marks.Driving, mock.Marks.Serious, mock.Marks.Dangerous, mock.Passed))],
            [.. readiness.Points.Where(point => point.Marked).Select(point => new ProgressPointJson(point.On, (int)Math.Round(point.LessonHours * 60), Math.Round(point.Score!.Value, 3)))],
            PupilReadiness.Caution, shared is null ? null : SharedForecastJson.Of(shared));
    }
}

/// <summary>What was said to the pupil when the forecast was shared.</summary>
internal sealed record SharedForecastJson(string Sentence, string By, Instant SharedAt)
{
    public static SharedForecastJson Of(SharedForecast row) => new(row.Sentence, row.ByName, row.SharedAt);
}

/// <summary>Quarter 0 is before the first lesson, 1 to 3 after so many quarters of the hours.</summary>
internal sealed record BacktestQuarterJson(int Quarter, int Pupils, int Inside, int MedianErrorMinutes, int MeanErrorMinutes, int PublishedAverageMeanErrorMinutes);

internal sealed record BacktestPointJson(Guid PupilId, LocalDate PassedOn, int Quarter, LocalDate On, RangeJson LessonMinutesToGo, int CameToMinutes, bool Inside);

internal sealed record BacktestJson(int FinishedPupils, string Weight, IReadOnlyList<BacktestQuarterJson> Quarters, IReadOnlyList<BacktestPointJson> Items, string Caution)
{
    public static BacktestJson Of(BacktestView view) => new(
        view.Pupils.Count,
        view.Weight(),
        [.. view.Quarters.Select(q => new BacktestQuarterJson(q.Quarter, q.Pupils, q.Inside, Minutes(q.MedianError), Minutes(q.MeanError), Minutes(q.FixedMeanError)))],
        [.. view.Shown.Select(p => new BacktestPointJson(
            view.Pupils[p.Pupil].PupilId, view.Pupils[p.Pupil].PassedOn, p.Quarter, p.On, RangeJson.Minutes(p.Forecast.LessonHours), Minutes(p.HoursToCome),
            p.Forecast.LessonHours.Holds(p.HoursToCome)))],
        PupilReadiness.Caution);

    private static int Minutes(double hours) => (int)Math.Round(hours * 60);
}

internal static class ReadinessEndpoints
{
    public static void MapReadiness(this IEndpointRouteBuilder app)
    {
        app.MapApi("pupils").MapGet("{id:guid}/readiness", GetAsync).Needs(Permission.SeeLearning)
            .OfPupil(Sight.ByReason).WithName("GetReadiness").WithSummary("Lesson minutes and weeks that the pupil may still need, with 80 % ranges; for the pupil once it was shared. Arithmetic; the instructor decides.")
            .Produces<ReadinessJson>().ProducesProblem(404);
        var shared = app.MapApi("pupils/{id:guid}/readiness/shared").WithTags("pupils");
        shared.MapGet("", GetSharedAsync).Needs(Permission.SeeLearning).OfPupil(Sight.ByReason).WithName("GetSharedForecast")
            .WithSummary("What was said to the pupil about the forecast, with its ETag; 404 while nothing is shared.").Produces<SharedForecastJson>().ProducesProblem(404);
        shared.MapPut("", ShareAsync).Needs(Permission.RecordLessons).WithIdempotency().OfPupil(Sight.Everything).WithName("ShareForecast")
            .WithSummary("Lets the pupil see the forecast, with a sentence to them. Wants If-Match; * where nothing is shared yet.")
            .Produces<SharedForecastJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(412).ProducesProblem(428);
        shared.MapDelete("", WithdrawAsync).Needs(Permission.RecordLessons).WithIdempotency().OfPupil(Sight.Everything).WithName("WithdrawForecast")
            .WithSummary("Takes it back: the pupil sees no forecast any more. If-Match is honoured when sent.").Produces(204).ProducesProblem(404).ProducesProblem(412);
        app.MapApi("syllabus").MapGet("backtest", BacktestAsync).Needs(Permission.ManageSchool)
            .WithName("GetReadinessBacktest").WithSummary("What would have been forecast of the school's latest finished pupils, beside what came true. Where pupils belong to their instructor, of those seen by name alone no more than the figures that count them.")
            .Produces<BacktestJson>();
    }

    private static async Task<IResult> GetAsync(Guid id, ReadinessReader reader, ForecastBook forecasts, PupilBook pupils, Viewer viewer, CancellationToken cancel)
    {
        if (await pupils.FindAsync(id, viewer, cancel) is null)
        {
            return Refusal.NotFound("pupil").ToProblem();
        }

        var shared = await forecasts.OfPupilAsync(id, cancel);
        return shared is null && !viewer.Towards(id).KeepsLearning
            ? NotShared
            : Results.Ok(ReadinessJson.Of(await reader.OfPupilAsync(id, cancel), shared));
    }

    private static IResult NotShared => Refusal.NotFound("shared forecast").ToProblem();

    private static async Task<IResult> GetSharedAsync(Guid id, HttpContext context, ForecastBook forecasts, PupilBook pupils, Viewer viewer, CancellationToken cancel) =>
        await pupils.FindAsync(id, viewer, cancel) is not null && await forecasts.OfPupilAsync(id, cancel) is { } shared
            ? ETags.Ok(context, shared, SharedForecastJson.Of(shared))
            : NotShared;

    private static async Task<IResult> ShareAsync(Guid id, ForecastSentence sentence, HttpContext context, ShareForecast share, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context) ?? (await share.RunAsync(viewer, id, sentence, ETags.Wanted(context), cancel)).ToRow(context, SharedForecastJson.Of);

    private static async Task<IResult> WithdrawAsync(Guid id, HttpContext context, WithdrawForecast withdraw, Viewer viewer, CancellationToken cancel) =>
        (await withdraw.RunAsync(viewer, id, ETags.Wanted(context), cancel)).ToResult(_ => Results.NoContent());

    private static async Task<IResult> BacktestAsync(ReadinessBacktest backtest, Viewer viewer, CancellationToken cancel) =>
        Results.Ok(BacktestJson.Of(await backtest.RunAsync(viewer, cancel)));
}
