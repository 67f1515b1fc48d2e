using Microsoft.AspNetCore.Mvc.Rendering;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;

namespace School.Web.Modules.Pupils;

internal static class BesideWords
{
    public static string Of(SeenOfPupil part) => part switch
    {
        SeenOfPupil.Lessons => "lessons",
        SeenOfPupil.Progress => "progress",
        SeenOfPupil.Money => "money",
    };

    public static string Of(SignInState state) => state switch
    {
        SignInState.NotInvited => "not invited",
        SignInState.Invited => "invited",
        SignInState.SignsIn => "signs in",
        SignInState.Closed => "closed",
    };

    public static IReadOnlyList<SelectListItem> Kinds { get; } = [.. Enum.GetValues<ContactKind>().Select(kind => new SelectListItem(Of(kind), kind.ToString()))];

    public static string Of(ContactKind kind) => kind switch
    {
        ContactKind.Parent => "Parent",
        ContactKind.Guardian => "Guardian",
        ContactKind.Partner => "Partner",
        ContactKind.Employer => "Employer",
        ContactKind.Other => "Other",
    };
}

/// <summary>Tells a pupil whom the school put beside them, and where to change it.</summary>
internal sealed class BesideWording : ILetterWording
{
    public const string Kind = "beside_pupil";
    private const string Contact = "contact";
    private const string Sees = "sees";
    private const string Copies = "copies";
    private const string Open = "open_beside";

    public IReadOnlyCollection<string> Kinds { get; } = [Kind];

    public static Letter Letter(Pupil pupil, string contact, Allowed allowed) => new(
        Kind, $"{Kind}:{pupil.Id}:{Platform.Database.RowId.New()}", pupil.Id, Receiver.Pupil(pupil.Id),
        [Fact.Of(Contact, contact), .. allowed.Sees.Select(part => Fact.Of(Sees, BesideWords.Of(part))), .. allowed.Letters ? [Fact.Of(Copies, 1)] : Array.Empty<Fact>()])
    {
        Acts = [new(Open, $"/pupils/{pupil.Id}/beside")],
    };

    public LetterWords Of(LetterReading letter)
    {
        var seen = letter.All(Sees);
        return new(
            $"{letter.Text(Contact)} is entered beside you",
            $"We have entered {letter.Text(Contact)} as somebody beside you, as we understand you agreed.",
            [
                ("They may see", seen.Count == 0 ? "nothing" : string.Join(", ", seen.Select(fact => fact.Text))),
                ("Copies of your letters", letter.Has(Copies) ? "yes, those that tell lesson times and test days" : "no"),
            ],
            [$"You decide this, at any age. If it is wrong, change it or remove them{letter.OrCall}."],
            letter.Links(code => code == Open ? "Who is beside you" : null));
    }
}
