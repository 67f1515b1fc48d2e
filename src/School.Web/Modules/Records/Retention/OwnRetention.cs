using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Api;

namespace School.Web.Modules.Records.Retention;

/// <summary>Kinds of the platform, which knows no module.</summary>
internal static class OwnRetention
{
    private static readonly int Promised = (int)Idempotency.Kept.TotalDays;

    public static readonly RetentionRule[] Rules =
    [
        new(
            "kept_answers", "Answers kept for a repeated request", "The answer to a request that had an Idempotency-Key, from when it was given.",
            "A program that heard nothing asks again within minutes; the API promises two days. They hold what was answered, so not longer than a month.")
        {
            Days = Promised, Least = Promised, Most = 30, Table = "platform.idempotent_answers", Since = "r.at",
        },
        new(
            "attempts", "Counts of tries to sign in", "How often something was tried, from when its quarter of an hour began.",
            "A count says nothing any more once its quarter of an hour is over; a day is room for a clock that was wrong. The audit tells of wrong tries.")
        {
            Days = 1, Least = 1, Most = 1, Table = "platform.attempt_counts", Since = "r.window_start",
        },
    ];
}
