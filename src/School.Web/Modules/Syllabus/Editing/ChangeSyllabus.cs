using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Syllabus;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Editing;

/// <summary>Makes a new edition out of the one that was looked at. What is not different makes none.</summary>
internal sealed class ChangeSyllabus(SchoolDb db, SyllabusBook book, Audit audit, IClock clock)
{
    public static Refusal EditionChanged { get; } = new(
        RefusalKind.Stale, "edition_changed", "Somebody changed the syllabus after you opened it. Look at it again, then make your change.");

    /// <param name="viewer">Who asks.</param>
    /// <param name="edit">What it becomes; the number is given here.</param>
    /// <param name="expected">Number of the edition that was looked at; null where nobody said, and the newest will do.</param>
    /// <param name="cancel">Stops.</param>
    /// <returns>The newest edition, which is still the old one where nothing was different.</returns>
    public Task<Outcome<SyllabusEdition>> RunAsync(
        Viewer viewer, Func<SyllabusEdition, Outcome<SyllabusEdition>> edit, int? expected, CancellationToken cancel) => db.InTransactionAsync<SyllabusEdition>(
        async cancel =>
        {
            await db.LockAsync(["syllabus"], cancel);
            var before = await book.CurrentAsync(cancel);
            if (expected is { } number && number != before.Number)
            {
                return EditionChanged;
            }

            var edited = edit(before);
            if (!edited.Ok)
            {
                return edited.Refusal;
            }

            var after = edited.Value with { Number = before.Number + 1 };
            if (string.Join(' ', after.Problems()) is { Length: > 0 } problems)
            {
                return Refusal.Rule("syllabus_problem", problems);
            }

            var everHad = (await book.EveryAsync(cancel)).SelectMany(edition => edition.Skills).Select(skill => skill.Key).ToHashSet(StringComparer.Ordinal);
            var sentences = EditionDifference.Sentences(before, after, everHad);
            if (sentences.Count == 0)
            {
                return before;
            }

            var words = string.Join(' ', sentences);
            db.Add(KeptEdition.Of(after, clock.GetCurrentInstant(), viewer.Name, words));
            audit.Note(viewer, "syllabus.change", null, $"Edition {after.Number} of the syllabus. {words}");
            return after;
        },
        cancel);
}
