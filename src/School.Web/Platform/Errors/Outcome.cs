using System.Diagnostics.CodeAnalysis;

namespace School.Web.Platform.Errors;

/// <summary>Either what was asked for or the refusal; never both.</summary>
internal sealed class Outcome<T>
    where T : notnull
{
    private Outcome(T? value, Refusal? refusal)
    {
        Value = value;
        Refusal = refusal;
    }

    public T? Value { get; }

    public Refusal? Refusal { get; }

    [MemberNotNullWhen(true, nameof(Value))]
    [MemberNotNullWhen(false, nameof(Refusal))]
    public bool Ok => Refusal is null;

    public static implicit operator Outcome<T>(T value) => new(value, null);

    public static implicit operator Outcome<T>(Refusal refusal) => new(default, refusal);
}
