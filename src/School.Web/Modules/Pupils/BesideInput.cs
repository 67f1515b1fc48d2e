using School.Core;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Api.Document;

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
internal sealed record BesideAsked(Guid? ContactId, People.Contracts.ContactDetails? New, BesideInput Beside, bool OnlyNew);
