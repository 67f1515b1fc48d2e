namespace School.Core;

/// <summary>Who reads a sentence.</summary>
public enum Reader
{
    /// <summary>Somebody of the school: the sentence speaks of "the pupil".</summary>
    Staff,

    /// <summary>The pupil it is about: the sentence says "you".</summary>
    Pupil,
}

/// <summary>One thing to say, worded for each reader. A plain text converts where both read the same.</summary>
/// <param name="ToStaff">To somebody of the school, about the pupil.</param>
/// <param name="ToPupil">To the pupil, about themselves.</param>
public sealed record Telling(string ToStaff, string ToPupil)
{
    /// <summary>The same words for everybody.</summary>
    /// <param name="same">A sentence that does not speak of the pupil.</param>
    public static implicit operator Telling(string same) => new(same, same);

    /// <summary>The words for one reader.</summary>
    /// <param name="reader">Who reads.</param>
    public string For(Reader reader) => reader switch
    {
        Reader.Staff => ToStaff,
        Reader.Pupil => ToPupil,
    };

    /// <summary>Both wordings with the same change made to each, such as words before them.</summary>
    /// <param name="change">Makes the new words from the old.</param>
    public Telling Map(Func<string, string> change)
    {
        ArgumentNullException.ThrowIfNull(change);
        return new(change(ToStaff), change(ToPupil));
    }

    /// <summary>Both sentences one after the other, for each reader.</summary>
    /// <param name="next">What is said next.</param>
    public Telling Then(Telling next)
    {
        ArgumentNullException.ThrowIfNull(next);
        return new($"{ToStaff} {next.ToStaff}", $"{ToPupil} {next.ToPupil}");
    }
}
