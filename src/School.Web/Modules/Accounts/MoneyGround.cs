using NodaTime;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Accounts;

/// <summary>What everything about a pupil's money asks first: such a pupil, seen by the viewer, and open books.</summary>
internal sealed class MoneyGround(BookShelf shelf, PupilBook pupils, OwnPupils own, SchoolInfo school, IClock clock)
{
    public Instant Now => clock.GetCurrentInstant();

    public async Task<Outcome<OpenBook>> OpenAsync(Viewer viewer, Guid pupilId, CancellationToken cancel) =>
        (await pupils.CardsAsync([pupilId], cancel)).Count == 0 ? Refusal.NotFound("pupil")
        : await own.RefuseUnseenAsync(viewer, pupilId, cancel) is { } unseen ? unseen
        : await shelf.FindAsync(cancel) is { } book ? new OpenBook(book, (await school.GetAsync(cancel)).Today(clock))
        : BookShelf.NotOpen;
}

/// <summary>The books, and the day in the school's zone.</summary>
internal sealed record OpenBook(Book Book, LocalDate Today);
