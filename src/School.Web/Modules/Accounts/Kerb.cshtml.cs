using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using NodaTime.Text;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;
using School.Web.Platform.Offline;

namespace School.Web.Modules.Accounts;

/// <summary>Takes what is due where a lesson ended, with one press; also later, once there is signal.</summary>
[Needs(Permission.TakeMoney), KeptOffline]
[OfPupil("id", Sight.ByReason)]
internal sealed class KerbModel(PupilBook pupils, IPupilMoney money, TakePayment take, TellDue tell, Viewer viewer) : PageModel
{
    private const string Cash = "cash";
    private const string Card = "card";
    private const string Transfer = "transfer";

    private static readonly Refusal NotSaid = Refusal.Rule("payment_not_said", "Say how it was paid. Nothing was taken.");

    private static readonly Refusal NotWhole = Refusal.Rule("payment_not_whole", "The form did not arrive whole. Nothing was taken. Open the page again.");

    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    [BindProperty(SupportsGet = true)]
    public Guid Lesson { get; set; }

    public string Name { get; private set; } = "";

    public KerbMoney Money { get; private set; } = null!;

    public string After => $"/syllabus/lessons/{Lesson}/next";

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel) => await LoadAsync(cancel) ? Page() : NotFound();

    public async Task<IActionResult> OnPostAsync(long? pence, string? on, Guid? payment, string? how, CancellationToken cancel)
    {
        if (!await LoadAsync(cancel))
        {
            return NotFound();
        }

        var refusal = how switch
        {
            Cash or Card => await TakeAsync(pence, on, payment, how == Cash ? PaymentMethod.Cash : PaymentMethod.Card, cancel),
            Transfer => await TellAsync(cancel),
            _ => NotSaid,
        };
        if (refusal is null)
        {
            return LocalRedirect(After);
        }

        this.AddRefusal(refusal);
        return Page();
    }

    private async Task<Refusal?> TakeAsync(long? pence, string? on, Guid? payment, PaymentMethod method, CancellationToken cancel)
    {
        if (LocalDatePattern.Iso.Parse(on ?? "") is not { Success: true, Value: var day } || payment is null || payment == Guid.Empty)
        {
            return NotWhole;
        }

        var input = new PaymentInput { Pence = pence, Method = method, Id = payment, PaidOn = day };
        var taken = await take.RunAsync(viewer, Id, input, cancel);
        if (!taken.Ok)
        {
            return taken.Refusal;
        }

        TempData["Done"] = $"{ScreenWords.Money(taken.Value.Pence)} taken ({PaymentWords.Of(taken.Value.Method)}), receipt {taken.Value.Number}.";
        return null;
    }

    private async Task<Refusal?> TellAsync(CancellationToken cancel)
    {
        var told = await tell.RunAsync(viewer, Id, cancel);
        if (!told.Ok)
        {
            return told.Refusal;
        }

        TempData["Done"] = $"{Name} is written to: {ScreenWords.Money(told.Value.Pence)} by transfer, with the reference.";
        return null;
    }

    private async Task<bool> LoadAsync(CancellationToken cancel)
    {
        if (!(await pupils.CardsAsync([Id], cancel)).TryGetValue(Id, out var card) || await money.AtKerbAsync(Id, Lesson, viewer, cancel) is not { } due)
        {
            return false;
        }

        (Name, Money) = (card.Name, due);
        return true;
    }
}
