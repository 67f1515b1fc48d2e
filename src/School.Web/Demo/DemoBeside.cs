using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Demo;

/// <summary>Who is beside the invented pupils: parents of some, an employer of two; one of them signs in.</summary>
internal sealed class DemoBeside(IServiceProvider services)
{
    /// <summary>Mother of one pupil and aunt of another, who signs in.</summary>
    public const string SignsIn = "beside@larkfield.example";

    private static readonly (int[] Pupils, string FirstName, ContactKind Kind, string Relation, SeenOfPupil[] Sees, bool Letters)[] Families =
    [
        ([6], "Declan", ContactKind.Parent, "father", [SeenOfPupil.Lessons], true),
        ([11], "Ines", ContactKind.Guardian, "aunt", [], false),
        ([22], "Perran", ContactKind.Partner, "", [SeenOfPupil.Progress], false),
    ];

    public async Task FillAsync(IReadOnlyList<DemoPupil> pupils)
    {
        var mother = await PutAsync(
            pupils, [0], new() { Name = $"Rowan {Larkfield.PupilName(0).Split(' ')[^1]}", Email = SignsIn, Phone = "01632 960500", Kind = ContactKind.Parent },
            new() { Relation = "mother", Sees = [SeenOfPupil.Lessons, SeenOfPupil.Progress, SeenOfPupil.Money], GetsLetters = true });
        await PutAsync(pupils, [1], null, new() { Relation = "aunt", Sees = [SeenOfPupil.Lessons] }, mother);
        await DemoVerbs.DoAsync<InviteBeside, SignInCard>(services, Viewer.Service, (verb, cancel) => verb.RunAsync(Viewer.Service, pupils[0].Pupil.Id, mother, cancel));
        foreach (var (beside, first, kind, relation, sees, letters) in Families)
        {
            var surname = Larkfield.PupilName(beside[0]).Split(' ')[^1];
            await PutAsync(pupils, beside, new() { Name = $"{first} {surname}", Email = $"beside{beside[0]}@larkfield.example", Phone = $"01632 9605{beside[0]:00}", Kind = kind },
                new() { Relation = relation, Sees = sees, GetsLetters = letters });
        }

        await PutAsync(pupils, [5, 13], new() { Name = "Harbour Joinery", Email = "yard@larkfield.example", Phone = "01632 960590", Kind = ContactKind.Employer },
            new() { Relation = "apprenticeship", Sees = [SeenOfPupil.Lessons], GetsLetters = true });
    }

    private async Task<Guid> PutAsync(IReadOnlyList<DemoPupil> pupils, int[] beside, ContactDetails? contact, BesideInput what, Guid? known = null)
    {
        foreach (var n in beside)
        {
            var row = await DemoVerbs.DoAsync<PutBeside, BesidePupil>(services, Viewer.Service, (verb, cancel) => verb.RunAsync(
                Viewer.Service, pupils[n].Pupil.Id, new(known, known is null ? contact : null, what, OnlyNew: true), null, cancel));
            known = row.ContactId;
        }

        return known!.Value;
    }
}
