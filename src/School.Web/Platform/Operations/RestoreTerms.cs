namespace School.Web.Platform.Operations;

internal enum RestoreKind
{
    /// <summary>Sign-ins, links and calendar addresses stay as they are.</summary>
    Moves,

    /// <summary>They end: what somebody took from the one must not open the other.</summary>
    Copy,
}

/// <summary>What the command line of a restore says.</summary>
/// <param name="File">The backup.</param>
/// <param name="Replace">Whether a database that holds something is emptied first.</param>
/// <param name="Kind">Null where it is not said, and has to be asked.</param>
/// <param name="Key">A key file beside the service's own.</param>
internal sealed record RestoreTerms(string File, bool Replace, RestoreKind? Kind, string? Key)
{
    private const string Question = """
        What is this restore for?
          1  The school moves to this database. Sign-ins, links and calendar addresses go on working.
          2  It is a copy, or the school starts again after a theft. Everybody signs in anew; tokens, links and calendar addresses end.
        1 or 2?
        """;

    /// <summary>Null where it cannot be understood.</summary>
    public static RestoreTerms? Parse(string[] words)
    {
        if (words is not [var file, .. var rest] || file.StartsWith('-'))
        {
            return null;
        }

        var terms = new RestoreTerms(file, false, null, null);
        for (var i = 0; i < rest.Length; i++)
        {
            switch (rest[i])
            {
                case "--replace":
                    terms = terms with { Replace = true };
                    break;
                case "--moves" when terms.Kind is null:
                    terms = terms with { Kind = RestoreKind.Moves };
                    break;
                case "--copy" when terms.Kind is null:
                    terms = terms with { Kind = RestoreKind.Copy };
                    break;
                case "--key" when terms.Key is null && i + 1 < rest.Length:
                    terms = terms with { Key = rest[++i] };
                    break;
                default:
                    return null;
            }
        }

        return terms;
    }

    /// <summary>Asks whoever sits there; null when nobody does, or gives no answer.</summary>
    public static async Task<RestoreKind?> AskAsync(TextReader? answers, TextWriter questions, CancellationToken cancel)
    {
        if (answers is null)
        {
            return null;
        }

        await questions.WriteLineAsync(Question);
        return (await answers.ReadLineAsync(cancel))?.Trim() switch
        {
            "1" => RestoreKind.Moves,
            "2" => RestoreKind.Copy,
            _ => null,
        };
    }
}
