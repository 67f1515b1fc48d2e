using System.Globalization;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>Which lessons: start at or after the first moment and before the second.</summary>
internal sealed record LessonFilter(Instant? From, Instant? Until, Guid? InstructorId, Guid? PupilId);

/// <summary>Lessons by start, a page at a time; the cursor is the last start and id.</summary>
internal sealed class LessonList(SchoolDb db, BesideBook beside, PastPlaces past, OwnPupils own)
{
    public async Task<Outcome<Page<LessonJson>>> PageAsync(LessonFilter filter, int? limit, string? cursor, Viewer viewer, CancellationToken cancel)
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

        var rows = db.Set<Lesson>().AsNoTracking().ReadableBy(viewer, beside.WhoLetSee(viewer, SeenOfPupil.Lessons)).Where(l =>
            (filter.From == null || l.StartsAt >= filter.From) && (filter.Until == null || l.StartsAt < filter.Until)
            && (filter.InstructorId == null || l.InstructorId == filter.InstructorId) && (filter.PupilId == null || l.PupilId == filter.PupilId));
        if (after.Value.Length > 0)
        {
            if (!TryReadPlace(after.Value, out var start, out var id))
            {
                return Refusal.Invalid("cursor", "This cursor is not one that a list gave. Start again without it.");
            }

            rows = rows.Where(l => l.StartsAt > start || (l.StartsAt == start && l.Id > id));
        }

        var found = await rows.OrderBy(l => l.StartsAt).ThenBy(l => l.Id).Take(request.Value.Limit + 1).ToListAsync(cancel);
        var more = found.Count > request.Value.Limit;
        var items = found.Take(request.Value.Limit).ToList();
        await past.VeilAsync(viewer, items, cancel);
        return new Page<LessonJson>(await own.WithoutRecordsAsync(viewer, items.ConvertAll(lesson => LessonJson.ReadBy(lesson, viewer)), cancel), more ? PageRequest.Wrap(Place(items[^1])) : null);
    }

    private static string Place(Lesson lesson) => string.Create(CultureInfo.InvariantCulture, $"{lesson.StartsAt.ToUnixTimeTicks()} {lesson.Id}");

    private static bool TryReadPlace(string text, out Instant start, out Guid id)
    {
        (start, id) = (default, default);
        if (text.Split(' ') is not [var ticks, var guid]
            || !long.TryParse(ticks, CultureInfo.InvariantCulture, out var number) || Math.Abs(number) > FurthestTicks || !Guid.TryParse(guid, out id))
        {
            return false;
        }

        start = Instant.FromUnixTimeTicks(number);
        return true;
    }

    private static readonly long FurthestTicks = Instant.FromUtc(3000, 1, 1, 0, 0).ToUnixTimeTicks();
}
