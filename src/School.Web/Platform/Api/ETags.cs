using System.Globalization;
using Microsoft.Net.Http.Headers;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Platform.Api;

/// <summary>The row version as ETag, and the check of If-Match on updates.</summary>
internal static class ETags
{
    private const int NoVersion = -1;

    public static string Of(Versioned row) => Of(row.Version);

    /// <summary>Answers 200 with the body and its ETag.</summary>
    public static IResult Ok<T>(HttpContext context, Versioned row, T body) => Ok(context, row.Version, body);

    /// <summary>The same where only the version is at hand.</summary>
    public static IResult Ok<T>(HttpContext context, int version, T body)
    {
        context.Response.Headers.ETag = Of(version);
        return Results.Ok(body);
    }

    /// <summary>
    /// The same where the answer tells more than the row: the tag gets a digest of the answer behind the version, so that a read that
    /// asks for changes hears of those too. If-Match looks at the version alone.
    /// </summary>
    public static IResult OkWithMore<T>(HttpContext context, int version, T body)
    {
        context.Items[ConditionalReads.AddDigest] = true;
        return Ok(context, version, body);
    }

    /// <summary>Answers 201 with Location, ETag and the body.</summary>
    public static IResult Created<T>(HttpContext context, Versioned row, string location, T body)
    {
        context.Response.Headers.ETag = Of(row);
        return Results.Created(location, body);
    }

    /// <summary>428 when the request has no If-Match.</summary>
    public static IResult? Missing(HttpContext context) => context.Request.Headers.IfMatch.Count > 0 ? null : Results.Problem(
        statusCode: StatusCodes.Status428PreconditionRequired,
        title: "Say which version you changed",
        detail: "Send If-Match with the ETag that reading this gave you.",
        extensions: new Dictionary<string, object?> { ["code"] = "if_match_missing" });

    /// <summary>The version that If-Match names; null when there is none or any will do. What cannot be read names a version that no row has.</summary>
    public static int? Wanted(HttpContext context)
    {
        var wanted = context.Request.Headers.IfMatch;
        if (wanted.Count == 0)
        {
            return null;
        }

        if (!EntityTagHeaderValue.TryParseList(wanted, out var tags) || tags.Count != 1)
        {
            return NoVersion;
        }

        // If-Match compares strongly (RFC 9110, 13.1.1), so a weak tag names nothing.
        return tags[0].Equals(EntityTagHeaderValue.Any) ? null : tags[0].IsWeak ? NoVersion : VersionOf(tags[0].Tag.ToString()) ?? NoVersion;
    }

    /// <summary>The version in a tag; null where it holds none. What follows a point tells answers of one version apart.</summary>
    public static int? VersionOf(string? tag) =>
        int.TryParse((tag ?? "").Trim('"').Split('.')[0], NumberStyles.None, CultureInfo.InvariantCulture, out var version) ? version : null;

    private static string Of(int version) => $"\"{version}\"";
}
