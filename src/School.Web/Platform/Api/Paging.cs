using System.Buffers.Text;
using System.Globalization;
using System.Linq.Expressions;
using System.Text;
using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Platform.Api;

/// <summary>One page of a list; <c>Next</c> is the cursor of the following page, or null at the end.</summary>
internal sealed record Page<T>(IReadOnlyList<T> Items, string? Next);

/// <summary>The <c>limit</c> and <c>cursor</c> of a list request, checked.</summary>
internal sealed record PageRequest(int Limit, string? Cursor)
{
    public const int Usual = 50;
    public const int Most = 200;

    public static Outcome<PageRequest> Of(int? limit, string? cursor) => limit switch
    {
        null => new PageRequest(Usual, cursor),
        < 1 or > Most => Refusal.Invalid("limit", $"Ask for between 1 and {Most} items at a time."),
        _ => new PageRequest(limit.Value, cursor),
    };

    /// <summary>The cursor's text as it was before it was wrapped, or null where there is none.</summary>
    public Outcome<string> Unwrap()
    {
        try
        {
            return Cursor is null ? "" : Encoding.UTF8.GetString(Base64Url.DecodeFromChars(Cursor));
        }
        catch (FormatException)
        {
            return WrongCursor;
        }
    }

    /// <summary>What a cursor of <see cref="Paging.PageOf"/> holds: how many items came before, and the key of the last of them.</summary>
    public Outcome<CursorPlace> Place()
    {
        var after = Unwrap();
        return !after.Ok ? after.Refusal
            : after.Value.Length == 0 ? new CursorPlace(0, null)
            : after.Value.Split(' ', 2) is [var place, var last] && int.TryParse(place, NumberStyles.None, CultureInfo.InvariantCulture, out var passed) && passed <= FurthestPlace
                ? new CursorPlace(passed, last)
                : WrongCursor;
    }

    private const int FurthestPlace = 1_000_000;

    public static Refusal WrongCursor => Refusal.Invalid("cursor", "This cursor is not one that a list gave. Start again without it.");

    public static string Wrap(string cursor) => Base64Url.EncodeToString(Encoding.UTF8.GetBytes(cursor));
}

internal sealed record CursorPlace(int Passed, string? Last);

internal static class Paging
{
    /// <summary>The place that the request's cursor names; what is wrong with the request first.</summary>
    public static Outcome<CursorPlace> Place(this Outcome<PageRequest> request) => request.Ok ? request.Value.Place() : request.Refusal;

    /// <summary>One page of a list that is at hand as a whole. The cursor is the last item's key and place, so that a page follows also when that item is gone.</summary>
    public static Outcome<Page<T>> PageOf<T>(this IReadOnlyList<T> all, int? limit, string? cursor, Func<T, string> key)
    {
        var request = PageRequest.Of(limit, cursor);
        var after = request.Place();
        if (!request.Ok || !after.Ok)
        {
            return after.Refusal!;
        }

        var (passed, last) = after.Value;
        var at = last is null ? null : all.Select((item, index) => (item, index)).Where(one => key(one.item) == last).Select(one => (int?)one.index).FirstOrDefault();
        var start = at + 1 ?? Math.Min(passed, all.Count);
        var items = all.Skip(start).Take(request.Value.Limit).ToList();
        var end = start + items.Count;
        return new Page<T>(items, end < all.Count ? PageRequest.Wrap(string.Create(CultureInfo.InvariantCulture, $"{end} {key(items[^1])}")) : null);
    }

    private const string Id = nameof(Versioned.Id);

    /// <summary>Rows in the order they were made (ids rise with time), one page at a time.</summary>
    public static Task<Outcome<Page<TOut>>> PageByIdAsync<TRow, TOut>(
        this IQueryable<TRow> rows, int? limit, string? cursor, Func<TRow, TOut> shape, CancellationToken cancel)
        where TRow : Versioned => PageAsync(rows, limit, cursor, newestFirst: false, row => row, row => row.Id, shape, cancel);

    /// <summary>The same of rows without a version, whose key is the property <c>Id</c>.</summary>
    public static Task<Outcome<Page<TOut>>> PageOldestAsync<TRow, TOut>(
        this IQueryable<TRow> rows, int? limit, string? cursor, Func<TRow, Guid> id, Func<TRow, TOut> shape, CancellationToken cancel)
        where TRow : class => PageAsync(rows, limit, cursor, newestFirst: false, row => row, id, shape, cancel);

    /// <summary>
    /// The same from the newest back, for rows whose key is the property <c>Id</c>; as the last of what is read together, where there is
    /// something, so that it is there when the rows are shaped.
    /// </summary>
    public static Task<Outcome<Page<TOut>>> PageNewestAsync<TRow, TOut>(
        this IQueryable<TRow> rows, int? limit, string? cursor, Func<TRow, Guid> id, Func<TRow, TOut> shape, CancellationToken cancel, ReadTogether? together = null)
        where TRow : class => PageAsync(rows, limit, cursor, newestFirst: true, row => row, id, shape, cancel, together);

    /// <summary>The same, where only a part of each row is read.</summary>
    public static Task<Outcome<Page<TOut>>> PageNewestAsync<TRow, TRead, TOut>(
        this IQueryable<TRow> rows, int? limit, string? cursor, Expression<Func<TRow, TRead>> read, Func<TRead, Guid> id, Func<TRead, TOut> shape, CancellationToken cancel,
        ReadTogether? together = null)
        where TRow : class => PageAsync(rows, limit, cursor, newestFirst: true, page => page.Select(read), id, shape, cancel, together);

    private static async Task<Outcome<Page<TOut>>> PageAsync<TRow, TRead, TOut>(
        IQueryable<TRow> rows, int? limit, string? cursor, bool newestFirst, Func<IQueryable<TRow>, IQueryable<TRead>> read, Func<TRead, Guid> id, Func<TRead, TOut> shape,
        CancellationToken cancel, ReadTogether? together = null)
        where TRow : class
    {
        var request = PageRequest.Of(limit, cursor);
        if (!request.Ok)
        {
            return request.Refusal;
        }

        var after = request.Value.Unwrap();
        if (!after.Ok)
        {
            return after.Refusal;
        }

        if (after.Value.Length > 0)
        {
            if (!Guid.TryParse(after.Value, out var last))
            {
                return PageRequest.WrongCursor;
            }

            rows = newestFirst ? rows.Where(row => EF.Property<Guid>(row, Id) < last) : rows.Where(row => EF.Property<Guid>(row, Id) > last);
        }

        rows = newestFirst ? rows.OrderByDescending(row => EF.Property<Guid>(row, Id)) : rows.OrderBy(row => EF.Property<Guid>(row, Id));
        var found = await ReadAsync(read(rows.Take(request.Value.Limit + 1)), together, cancel);
        var more = found.Count > request.Value.Limit;
        var items = found.Take(request.Value.Limit).ToList();
        return new Page<TOut>(items.ConvertAll(row => shape(row)), more ? PageRequest.Wrap(id(items[^1]).ToString()) : null);
    }

    private static async Task<IReadOnlyList<T>> ReadAsync<T>(IQueryable<T> rows, ReadTogether? together, CancellationToken cancel)
    {
        if (together is null)
        {
            return await rows.ToListAsync(cancel);
        }

        var asked = together.Ask(rows);
        await together.RunAsync(cancel);
        return asked.All;
    }
}
