using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Database;

namespace School.Web.Modules.Accounts;

/// <summary>The terms as they stand.</summary>
internal sealed class TermsBook(SchoolDb db)
{
    public Task<Terms?> NewestAsync(CancellationToken cancel) => db.Set<Terms>().AsNoTracking().OrderByDescending(t => t.Number).FirstOrDefaultAsync(cancel);

    public Task<Terms?> FindAsync(int number, CancellationToken cancel) => db.Set<Terms>().AsNoTracking().SingleOrDefaultAsync(t => t.Number == number, cancel);

    /// <summary>The newest, and whether a pupil accepted it.</summary>
    public async Task<(Terms? Newest, TermsAccepted? Accepted)> OfPupilAsync(Guid pupilId, CancellationToken cancel) =>
        await NewestAsync(cancel) is not { } newest ? default
            : (newest, await db.Set<TermsAccepted>().AsNoTracking().SingleOrDefaultAsync(a => a.PupilId == pupilId && a.Number == newest.Number, cancel));
}
