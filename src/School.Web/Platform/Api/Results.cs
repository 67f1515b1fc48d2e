using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Platform.Api;

/// <summary>Turns an outcome into an answer.</summary>
internal static class OutcomeResults
{
    public static IResult ToResult<T>(this Outcome<T> outcome, Func<T, IResult> ok)
        where T : notnull => outcome.Ok ? ok(outcome.Value) : outcome.Refusal.ToProblem();

    public static IResult ToResult<T>(this Outcome<T> outcome)
        where T : notnull => outcome.ToResult(value => Results.Ok(value));

    /// <summary>200 with ETag and the wire shape of a row.</summary>
    public static IResult ToRow<TRow, TOut>(this Outcome<TRow> outcome, HttpContext context, Func<TRow, TOut> shape)
        where TRow : Versioned => outcome.ToResult(row => ETags.Ok(context, row, shape(row)));
}
