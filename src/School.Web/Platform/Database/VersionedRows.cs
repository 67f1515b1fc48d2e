using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Errors;

namespace School.Web.Platform.Database;

internal static class VersionedRows
{
    /// <summary>The row in the version that was looked at, to be changed; stale when somebody changed it since.</summary>
    /// <param name="rows">Those that may be changed by who asks.</param>
    /// <param name="id">Which one.</param>
    /// <param name="version">The version that was looked at; null where nobody said, and any will do.</param>
    /// <param name="what">A word for it in the refusal.</param>
    /// <param name="cancel">Stops.</param>
    public static async Task<Outcome<T>> TakeAsync<T>(this IQueryable<T> rows, Guid id, int? version, string what, CancellationToken cancel)
        where T : Versioned =>
        // A question within that is not tracked would let the whole go untracked, and what is changed would be lost without a word.
        Checked(await rows.AsTracking().SingleOrDefaultAsync(r => r.Id == id, cancel), version, what);

    /// <summary>The same where all rows were read under their lock, because they are judged together.</summary>
    public static Outcome<T> Take<T>(this IEnumerable<T> rows, Guid id, int? version, string what)
        where T : Versioned => Checked(rows.SingleOrDefault(r => r.Id == id), version, what);

    /// <summary>Of what there is once or not at all: stale where another version is expected than stands, or one where nothing stands.</summary>
    public static Refusal? StaleIn<T>(this IReadOnlyList<T> rows, int? version)
        where T : Versioned => version is { } wanted && (rows.Count == 0 || rows[0].Version != wanted) ? Refusal.Stale : null;

    /// <summary>Of a version that a row keeps of a part of itself: stale where another is expected than stands.</summary>
    public static Refusal? StaleAs(this int stands, int? version) => stands == (version ?? stands) ? null : Refusal.Stale;

    private static Outcome<T> Checked<T>(T? row, int? version, string what)
        where T : Versioned =>
        row is null ? Refusal.NotFound(what) : row.Version == (version ?? row.Version) ? row : Refusal.Stale;
}
