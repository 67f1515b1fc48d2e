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

namespace School.Web.Modules.Accounts;

/// <summary>A new version of the terms.</summary>
internal sealed record TermsInput
{
    [Needed, AtMost(Terms.LongestText)]
    public string? Text { get; init; }

    /// <summary>They say what late cancellations and missed lessons cost.</summary>
    public bool NamesFees { get; init; } = true;
}

/// <summary>Writes the next version of the terms. What was accepted before stays accepted in its own words.</summary>
internal sealed class WriteTerms(SchoolDb db, Audit audit, IClock clock)
{
    public Task<Outcome<Terms>> RunAsync(Viewer viewer, TermsInput input, CancellationToken cancel) => db.InTransactionAsync<Terms>(
        async cancel =>
        {
            await db.LockAsync(["terms"], cancel);
            var errors = new FieldErrors();
            var text = errors.ReadLines(nameof(input.Text), input.Text, Terms.LongestText);
            errors.When(text.Length == 0, nameof(input.Text), "Enter the terms as pupils read them.");
            if (errors.ToRefusal() is { } wrong)
            {
                return wrong;
            }

            var last = await db.Set<Terms>().MaxAsync(t => (int?)t.Number, cancel) ?? 0;
            audit.Note(viewer, "terms.write", null, $"Wrote version {last + 1} of the terms.");
            return db.Add(new Terms { Number = last + 1, Text = text, NamesFees = input.NamesFees, WrittenAt = clock.GetCurrentInstant() }).Entity;
        },
        cancel);
}

/// <summary>A pupil accepts the terms as they stand, or staff note that they did.</summary>
internal sealed class AcceptTerms(SchoolDb db, PupilBook pupils, OwnPupils own, Audit audit, IClock clock)
{
    public Task<Outcome<TermsAccepted>> RunAsync(Viewer viewer, Guid pupilId, int number, CancellationToken cancel) => db.InTransactionAsync<TermsAccepted>(
        async cancel =>
        {
            if ((viewer.PupilId != pupilId && !viewer.May(Permission.TakeMoney)) || (await pupils.CardsAsync([pupilId], cancel)).Count == 0)
            {
                return Refusal.NotFound("pupil");
            }

            if (await own.RefuseUnseenAsync(viewer, pupilId, cancel) is { } unseen)
            {
                return unseen;
            }

            await db.LockAsync([Ledger.LockOf(pupilId)], cancel);
            var newest = await db.Set<Terms>().MaxAsync(t => (int?)t.Number, cancel);
            if (newest != number)
            {
                return newest is null ? Refusal.NotFound("version of the terms") : Refusal.Rule("terms_changed", "There is a newer version of the terms. Read it, then accept it.");
            }

            if (await db.Set<TermsAccepted>().AsNoTracking().SingleOrDefaultAsync(a => a.PupilId == pupilId && a.Number == number, cancel) is { } already)
            {
                return already;
            }

            audit.Note(viewer, "account.terms", pupilId, $"Version {number} of the terms accepted{(viewer.PupilId == pupilId ? "" : ", noted by staff")}.");
            return db.Add(new TermsAccepted
            {
                PupilId = pupilId,
                Number = number,
                At = clock.GetCurrentInstant(),
                ByThemselves = viewer.PupilId == pupilId,
                NotedBy = viewer.Name,
            }).Entity;
        },
        cancel);
}
