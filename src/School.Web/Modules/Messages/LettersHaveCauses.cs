using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Messages.Contracts;
using School.Web.Platform.Database;
using School.Web.Platform.Operations;

namespace School.Web.Modules.Messages;

/// <summary>Nobody is told of what did not happen.</summary>
internal sealed class LettersHaveCauses(IEnumerable<LetterKind> kinds) : IInvariant
{
    public string Code => "letters_have_causes";

    public string Sentence => "every letter is of a known kind and what it tells of stands in the database";

    public async Task<Finding> LookAsync(SchoolDb db, CancellationToken cancel)
    {
        // Put together from what the program's own modules say, and nothing else.
        var causes = string.Join(' ', kinds.Select(kind => $"WHEN '{kind.Kind}' THEN {kind.Cause}"));
        var without = $"""SELECT m.kind || ' ' || m.id AS "Value" FROM messages.messages m WHERE NOT (CASE m.kind {causes} ELSE false END) ORDER BY m.id""";
        return new(await db.Set<Message>().LongCountAsync(cancel), await db.Database.SqlQueryRaw<string>(without).ToListAsync(cancel));
    }
}
