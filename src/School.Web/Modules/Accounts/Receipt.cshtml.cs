using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Accounts;

/// <summary>One receipt, to read or print.</summary>
[Needs(Permission.ReadAccount)]
internal sealed class ReceiptModel(PupilBook pupils, OwnPupils own, BesideBook beside, AccountReader reader, SchoolInfo school, Viewer viewer) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    public string Name { get; private set; } = "";

    public SchoolFacts School { get; private set; } = null!;

    public Payment Payment { get; private set; } = null!;

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if (await reader.PaymentAsync(Id, cancel) is not { } payment || !await AccountEndpoints.MaySeeAsync(payment.PupilId, pupils, beside, viewer, cancel)
            || await own.RefuseUnseenAsync(viewer, payment.PupilId, cancel) is not null)
        {
            return NotFound();
        }

        (Payment, Name, School) = (payment, (await pupils.CardsAsync([payment.PupilId], cancel))[payment.PupilId].Name, await school.GetAsync(cancel));
        return Page();
    }
}
