using School.Core.Pupils;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils.Contracts;

/// <summary>What is still needed of a pupil before a first lesson, with where the office enters it.</summary>
internal sealed record StillNeeded(Guid PupilId, FirstLessonNeeds Missing)
{
    /// <summary>What stands in the way of a lesson.</summary>
    /// <param name="pupil">The pupil.</param>
    /// <param name="asksFirst">Whether licence and date of birth must be known before it is booked.</param>
    public static StillNeeded Of(PupilCard pupil, bool asksFirst) => new(pupil.Id, asksFirst ? pupil.Missing : pupil.Missing & FirstLessonNeedsWords.ToBook);

    /// <summary>What keeps staff from booking: nothing but what a car and a place are looked for by. All else is seen and asked before driving.</summary>
    public static StillNeeded ToBook(PupilCard pupil, Viewer viewer) =>
        Of(pupil, asksFirst: !viewer.Towards(pupil.Id).IsStaff);

    /// <summary>Member of the problem document that names what is missing, as the members of a pupil that hold it.</summary>
    public const string MissingMember = "missing";

    /// <summary>Each by itself: in words, and the form opened at its field.</summary>
    public IReadOnlyList<(string Words, string Page)> Cures => [.. Missing.One().Select(need => (need.Each()[0], PageOf(need)))];

    /// <summary>The form, opened at the first field that is missing.</summary>
    public string Page => PageOf(Missing.One()[0]);

    public Refusal ToRefusal() => Refusal.Rule(FirstLessonNeedsWords.Code, Missing.Telling()) with
    {
        More = new Dictionary<string, object?> { [MissingMember] = Missing.Names(), [Refusal.PageMember] = Page },
    };

    private string PageOf(FirstLessonNeeds need) => $"/pupils/{PupilId}/change#Input_{need switch
    {
        FirstLessonNeeds.BirthDate => "BirthDate_Day",
        FirstLessonNeeds.Gearbox => "Gearbox",
        FirstLessonNeeds.Licence => "Licence_Kind",
        FirstLessonNeeds.PickUp or FirstLessonNeeds.None => "PickUp_Label",
    }}";
}
