using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Diary.Waiting;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Offers;

/// <summary>One offer, opened by the link in its letter or by somebody signed in who may see it. Opening it accepts nothing.</summary>
[AllowAnonymous]
internal sealed class DetailsModel(SchoolDb db, AcceptOffer accept, DeclineOffer decline, InstructorBook instructors, PictureLoader pictures, SchoolInfo school, IClock clock) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public string? Key { get; set; }

    public OfferedSlot Offer { get; private set; } = null!;

    public Lesson? InsteadOf { get; private set; }

    public SchoolFacts School { get; private set; } = null!;

    public string Teacher { get; private set; } = "";

    /// <summary>What the school calls its kind; null for a lesson like any other.</summary>
    public string? KindName { get; private set; }

    /// <summary>Whether somebody has the time.</summary>
    public bool Taken { get; private set; }

    public bool SignedIn { get; private set; }

    public bool Open => Offer.State == OfferState.Open && Offer.HeldUntil > clock.GetCurrentInstant();

    public string Closed => Offer.State switch
    {
        OfferState.Accepted => "You have accepted this offer. The lesson is yours.",
        OfferState.Declined => "This offer was declined. You keep your place on the waiting list.",
        OfferState.Gone when Taken => "This time has gone to somebody else. You keep your place on the waiting list.",
        OfferState.Gone => WaitingWords.NotAsOffered,
        OfferState.Open or OfferState.Lapsed => "The time to accept this offer has run out. You keep your place on the waiting list.",
    };

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel) => await ReadAsync(id, cancel) ? Page() : NotFound();

    public async Task<IActionResult> OnPostAsync(Guid id, CancellationToken cancel)
    {
        if (!await ReadAsync(id, cancel))
        {
            return NotFound();
        }

        var accepted = await accept.RunAsync(id, cancel);
        if (accepted.Ok)
        {
            TempData["Done"] = $"The lesson is yours: {School.When(accepted.Value.During)}. The details are on their way by e-mail.";
            return LocalRedirect(SignedIn ? LessonLinks.Of(accepted.Value.Id) : Here);
        }

        if (accepted.Refusal.Code == "offer_accepted")
        {
            return LocalRedirect(Here);
        }

        this.AddRefusal(accepted.Refusal);
        await ReadAsync(id, cancel);
        return Page();
    }

    public async Task<IActionResult> OnPostDeclineAsync(Guid id, CancellationToken cancel)
    {
        if (!await ReadAsync(id, cancel))
        {
            return NotFound();
        }

        var declined = await decline.RunAsync(id, cancel);
        TempData["Done"] = declined.Ok ? "Declined. You keep your place on the waiting list." : declined.Refusal.For(null);
        return LocalRedirect(Here);
    }

    public string Here => Key is null ? $"/diary/offers/{Offer.Id}" : $"/diary/offers/{Offer.Id}?key={Uri.EscapeDataString(Key)}";

    private async Task<bool> ReadAsync(Guid id, CancellationToken cancel)
    {
        var viewer = Viewer.From(User);
        if (await db.Set<OfferedSlot>().AsNoTracking().SingleOrDefaultAsync(o => o.Id == id, cancel) is not { } offer
            || !(offer.Opens(Key) || (viewer?.May(Permission.BookLessons) == true && viewer.Sees(offer.PupilId))))
        {
            return false;
        }

        (Offer, School, SignedIn) = (offer, await school.GetAsync(cancel), viewer is not null);
        KindName = (await pictures.RulesAsync(cancel)).NameOf(offer.Kind);
        Teacher = (await instructors.NamesAsync(cancel))[offer.InstructorId];
        Taken = offer.State == OfferState.Gone && await db.Set<FreedSlot>().AnyAsync(f => f.Id == offer.FreedId && f.State == FreedState.Taken, cancel);
        InsteadOf = await db.Set<Lesson>().AsNoTracking().SingleOrDefaultAsync(l => l.Id == offer.InsteadOfId, cancel);
        return true;
    }
}
