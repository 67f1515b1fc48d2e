using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Database;
using School.Web.Platform.Operations;

namespace School.Web.Modules.Pupils;

/// <summary>To whom what is written to a pupil goes as well.</summary>
internal sealed class CopiesOfPupils(SchoolDb db, PupilBook book) : ICopyLetters
{
    public static IInvariant AreAllowed { get; } = new SqlInvariant(
        "copies_are_allowed",
        "whoever gets copies of a pupil's letters stands beside the pupil and sees the lessons",
        """SELECT count(*) AS "Value" FROM pupils.pupils p, unnest(p.letters_to) AS contact""",
        """
        SELECT 'contact ' || contact || ' of pupil ' || p.id AS "Value" FROM pupils.pupils p, unnest(p.letters_to) AS contact
        WHERE NOT EXISTS (SELECT FROM pupils.beside b WHERE b.pupil_id = p.id AND b.contact_id = contact AND 'Lessons' = ANY (b.sees))
        ORDER BY p.id, contact
        """);

    public async Task<(string Name, IReadOnlyList<Guid> Contacts)> OfAsync(Guid pupilId, CancellationToken cancel) => book.Has(pupilId, out var card)
        ? (card.Name, card.LettersTo)
        : await db.Set<Pupil>().AsNoTracking().Where(p => p.Id == pupilId).Select(p => new { p.Name, p.LettersTo }).SingleOrDefaultAsync(cancel) is { } pupil
            ? (pupil.Name, pupil.LettersTo)
            : ("", []);
}
