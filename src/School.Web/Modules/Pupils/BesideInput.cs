using School.Core;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Pupils;

/// <summary>What a contact is to a pupil, what the pupil lets them see, and whether they get copies of the pupil's letters.</summary>
internal sealed record BesideInput
{
    /// <summary>As many parts as there are.</summary>
    public const int MostSees = 3;

    /// <summary>Such as mother, uncle, training manager.</summary>
    [AtMost(BesidePupil.LongestRelation)]
    public string? Relation { get; init; }

    /// <summary>Each on its own; nothing where it is left out.</summary>
    [Items(0, MostSees)]
    public IReadOnlyList<SeenOfPupil>? Sees { get; init; }

    /// <summary>Copies of letters that tell lesson times and test days; who gets them sees the lessons and has an e-mail address.</summary>
    public bool GetsLetters { get; init; }
}

/// <summary>Who is put beside whom.</summary>
/// <param name="ContactId">The contact; null to take a new one.</param>
/// <param name="New">Somebody new.</param>
/// <param name="Beside">What they are to the pupil.</param>
/// <param name="OnlyNew">Refused where they stand beside the pupil already.</param>
internal sealed record BesideAsked(Guid? ContactId, ContactDetails? New, BesideInput Beside, bool OnlyNew)
{
    /// <summary>What they are to the pupil, cleaned.</summary>
    public string Relation(FieldErrors errors) => errors.ReadLine(nameof(BesideInput.Relation), Beside.Relation, BesidePupil.LongestRelation);

    /// <summary>All that is wrong, in the order of the form.</summary>
    /// <param name="known">The contact where it is not a new one.</param>
    public FieldErrors Wrong(ContactCard? known)
    {
        var errors = ContactId is null ? (New ?? new()).Wrong() : new();
        Relation(errors);
        errors.When(Beside.Sees?.Count > BesideInput.MostSees, nameof(BesideInput.Sees), "Name lessons, progress and money once each.");
        errors.When(Beside.GetsLetters && Beside.Sees?.Contains(SeenOfPupil.Lessons) != true, nameof(BesideInput.GetsLetters), "The letters tell when lessons are. Let them see the lessons, or leave the letters out.");
        errors.When(
            Beside.GetsLetters && string.IsNullOrWhiteSpace(known is null ? New?.Email : known.Email), nameof(BesideInput.GetsLetters), "Letters go by e-mail, and no e-mail address is known of them. Enter one first.");
        return errors;
    }
}
