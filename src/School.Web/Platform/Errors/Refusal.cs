using NodaTime;
using School.Core;
using School.Web.Platform.Access;

namespace School.Web.Platform.Errors;

internal enum RefusalKind
{
    /// <summary>What was sent is not well formed: 400 with the field beside each message.</summary>
    Invalid,

    /// <summary>Well formed, but a rule of the school or the law says no: 422.</summary>
    Rule,

    /// <summary>Somebody else's change stands in the way: 409.</summary>
    Conflict,

    /// <summary>No such thing, or not yours: 404.</summary>
    NotFound,

    /// <summary>The copy that was changed is not the newest: 412.</summary>
    Stale,

    /// <summary>There, and perhaps seen by name, but not theirs to read or change: 403.</summary>
    NotAllowed,

    /// <summary>Not just now, through no fault of who asks: 503.</summary>
    Away,

    /// <summary>The sign-in is not right, or not yet enough: 401.</summary>
    NotSignedIn,

    /// <summary>More than is taken at once: 413.</summary>
    TooLarge,

    /// <summary>A longer address than is read: 414.</summary>
    AddressTooLong,

    /// <summary>Too many tries: 429.</summary>
    TooMany,
}

/// <summary>A "no" with a stable code and a sentence, worded for its reader, that a person can act on.</summary>
internal sealed record Refusal(RefusalKind Kind, string Code, Telling Telling)
{
    public IReadOnlyDictionary<string, string[]> Fields { get; init; } = new Dictionary<string, string[]>();

    /// <summary>Extra members for the problem document, such as other times that are free.</summary>
    public IReadOnlyDictionary<string, object?> More { get; init; } = new Dictionary<string, object?>();

    /// <summary>After which time it is worth trying again.</summary>
    public Duration? RetryAfter { get; init; }

    /// <summary>Member of the problem document that holds the page where it is put right.</summary>
    public const string PageMember = "page";

    /// <summary>The same with the page where it is put right.</summary>
    public Refusal CuredOn(string page) => this with { More = new Dictionary<string, object?>(More) { [PageMember] = page } };

    public static Refusal Rule(string code, Telling telling) => new(RefusalKind.Rule, code, telling);

    public static Refusal Conflict(string code, Telling telling) => new(RefusalKind.Conflict, code, telling);

    /// <summary>The sentence for who asked. Who is not signed in came by a link of their own, as the pupil that it speaks of.</summary>
    public string For(Viewer? viewer) => Telling.For(viewer?.Reader ?? Reader.Pupil);

    public static Refusal NotFound(string what) => new(RefusalKind.NotFound, "not_found", $"There is no such {what}, or it is not yours to see.");

    public static Refusal Stale { get; } = new(RefusalKind.Stale, "stale", "Somebody changed this after you opened it. Look at it again, then make your change.");

    public static Refusal Invalid(string field, string sentence) =>
        Invalid(new Dictionary<string, string[]> { [field] = [sentence] });

    public static Refusal Invalid(IReadOnlyDictionary<string, string[]> fields) =>
        new(RefusalKind.Invalid, "invalid", string.Join(" ", fields.Values.SelectMany(s => s).Distinct())) { Fields = fields };
}

/// <summary>Collects one message per field, then becomes a refusal or nothing.</summary>
internal sealed class FieldErrors
{
    private const string Usual = "invalid";

    private readonly Dictionary<string, List<string>> _byField = [];
    private readonly HashSet<string> _codes = new(StringComparer.Ordinal);

    public bool Any => _byField.Count > 0;

    /// <summary>The code is told where nothing else is wrong.</summary>
    public FieldErrors Add(string field, string sentence, string code = Usual)
    {
        _codes.Add(code);
        Keep(field, sentence);
        return this;
    }

    public FieldErrors When(bool wrong, string field, string sentence) => wrong ? Add(field, sentence) : this;

    public FieldErrors AddAll(FieldErrors others)
    {
        foreach (var (field, sentences) in others._byField)
        {
            sentences.ForEach(sentence => Keep(field, sentence));
        }

        _codes.UnionWith(others._codes);

        return this;
    }

    public FieldErrors AddAll(Refusal refusal)
    {
        foreach (var (field, sentences) in refusal.Fields)
        {
            Array.ForEach(sentences, sentence => Add(field, sentence, refusal.Code));
        }

        return this;
    }

    public Refusal? ToRefusal() => !Any ? null : Refusal.Invalid(_byField.ToDictionary(p => p.Key, p => p.Value.ToArray())) with
    {
        Code = _codes.Count == 1 ? _codes.Single() : Usual,
    };

    private void Keep(string field, string sentence)
    {
        if (!_byField.TryGetValue(field, out var sentences))
        {
            _byField[field] = sentences = [];
        }

        sentences.Add(sentence);
    }
}
