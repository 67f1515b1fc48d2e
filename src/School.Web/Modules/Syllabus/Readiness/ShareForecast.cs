using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Syllabus.Readiness;

/// <summary>What the instructor says to the pupil about the forecast.</summary>
internal sealed record ForecastSentence([property: Needed, AtMost(SharedForecast.LongestSentence)] string? Sentence = null);

/// <summary>Lets a pupil see their forecast, with a sentence of who shares it; shared already, the sentence is put in the place of the former.</summary>
internal sealed class ShareForecast(SchoolDb db, PupilBook pupils, OwnPupils own, Audit audit, IClock clock)
{
    internal const string What = "shared forecast";

    /// <summary>Expected where nothing was shared when it was looked at: no row has this version, and no tag names it.</summary>
    internal const int NotShared = -2;

    internal static string LockOf(Guid pupil) => $"forecast:{pupil}";

    public Task<Outcome<SharedForecast>> RunAsync(Viewer viewer, Guid pupilId, ForecastSentence request, int? expected, CancellationToken cancel) =>
        db.InTransactionAsync<SharedForecast>(
            async cancel =>
            {
                await db.LockAsync([LockOf(pupilId)], cancel);
                if (!viewer.KeepsLearning || await pupils.FindAsync(pupilId, viewer, cancel) is null)
                {
                    return Refusal.NotFound("pupil");
                }

                if (await own.RefuseAsync(viewer, pupilId, cancel) is { } notYours)
                {
                    return notYours;
                }

                var shared = await db.Set<SharedForecast>().Where(f => f.PupilId == pupilId).ToListAsync(cancel);
                if (shared.StaleIn(shared.Count == 0 && expected == NotShared ? null : expected) is { } stale)
                {
                    return stale;
                }

                var errors = new FieldErrors();
                var sentence = errors.ReadLines(nameof(request.Sentence), request.Sentence, SharedForecast.LongestSentence);
                errors.When(sentence.Length == 0 && !errors.Any, nameof(request.Sentence), "Write a sentence to the pupil: what you make of the forecast, and what comes next.");
                if (errors.ToRefusal() is { } invalid)
                {
                    return invalid;
                }

                // Said again by whoever it may be, it is still what was said then.
                if (shared is [{ } said] && said.Sentence == sentence)
                {
                    return said;
                }

                var now = clock.GetCurrentInstant();
                if (shared is not [var row])
                {
                    db.Add(row = new() { PupilId = pupilId, Sentence = sentence, ByPersonId = viewer.PersonId, ByName = viewer.Name, SharedAt = now });
                }
                else
                {
                    (row.Sentence, row.ByPersonId, row.ByName, row.SharedAt) = (sentence, viewer.PersonId, viewer.Name, now);
                }

                audit.Note(viewer, "pupil.forecast.share", pupilId, "Let the pupil see the forecast.");
                return row;
            },
            cancel);
}

/// <summary>Takes a forecast back: the pupil sees it no more.</summary>
internal sealed class WithdrawForecast(SchoolDb db, OwnPupils own, Audit audit)
{
    public Task<Outcome<SharedForecast>> RunAsync(Viewer viewer, Guid pupilId, int? expected, CancellationToken cancel) => db.InTransactionAsync<SharedForecast>(
        async cancel =>
        {
            await db.LockAsync([ShareForecast.LockOf(pupilId)], cancel);
            if (!viewer.KeepsLearning)
            {
                return Refusal.NotFound(ShareForecast.What);
            }

            var shared = await db.Set<SharedForecast>().Where(f => f.PupilId == pupilId).ToListAsync(cancel);
            if (shared.Count > 0 && await own.RefuseAsync(viewer, pupilId, cancel) is { } notYours)
            {
                return notYours;
            }

            var taken = shared.Take(shared is [var known] ? known.Id : default, expected, ShareForecast.What);
            if (taken is { Value: { } row })
            {
                db.Remove(row);
                audit.Note(viewer, "pupil.forecast.withdraw", pupilId, "The pupil no longer sees the forecast.");
            }

            return taken;
        },
        cancel);
}

/// <summary>What a pupil may see of their forecast.</summary>
internal sealed class ForecastBook(SchoolDb db)
{
    /// <summary>What the instructor shared; null where nothing is.</summary>
    public Task<SharedForecast?> OfPupilAsync(Guid pupilId, CancellationToken cancel) =>
        db.Set<SharedForecast>().AsNoTracking().SingleOrDefaultAsync(f => f.PupilId == pupilId, cancel);

    /// <summary>Whether anything was shared, as a part of what is read together.</summary>
    public Func<bool> IsShared(ReadTogether together, Guid pupilId)
    {
        var shared = together.Ask(db.Set<SharedForecast>().AsNoTracking().Where(f => f.PupilId == pupilId).Select(f => f.Id));
        return () => shared.All.Count > 0;
    }
}
