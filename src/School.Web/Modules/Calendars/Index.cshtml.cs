using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using QRCoder;
using School.Core.Calendars;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Calendars;

[Needs(Permission.OwnFeeds)]
internal sealed class IndexModel(
    SchoolDb db, Viewer viewer, MakeFeed makeFeed, RevokeFeed revokeFeed, IConfiguration configuration, SchoolInfo school, InstructorBook instructors,
    PupilBook pupils, CarPark cars) : PageModel
{
    private const string AddressKey = "FeedAddress";
    private const int MostShown = 200;
    private const int PixelsPerModule = 6;

    /// <summary>For the office: <c>instructor:</c> or <c>car:</c> and the id.</summary>
    [BindProperty]
    public string? Subject { get; set; }

    [BindProperty]
    public string? Detail { get; set; } = "full";

    [BindProperty]
    public bool HideCancelled { get; set; }

    public IReadOnlyList<SelectListItem> Subjects { get; private set; } = [];

    /// <summary>A pupil's own initials help nobody.</summary>
    public IReadOnlyList<SelectListItem> Details { get; } = [.. Enum.GetValues<FeedDetail>().Where(d => d != FeedDetail.Area || viewer.IsStaff).Select(d => new SelectListItem(Words(d), d.ToString().ToLowerInvariant()))];

    public IReadOnlyList<FeedLine> Feeds { get; private set; } = [];

    /// <summary>Only then is it said whose lessons each address shows.</summary>
    public bool SeveralSubjects => viewer.KeepsDiary || Feeds.DistinctBy(f => f.Of).Count() > 1;

    /// <summary>Right after it was made, and only then.</summary>
    public FeedAddress? Address { get; private set; }

    public string Picture => $"data:image/png;base64,{Convert.ToBase64String(Png(Address!.Webcal))}";

    public async Task OnGetAsync(CancellationToken cancel)
    {
        Address = TempData[AddressKey] is string url ? new(url) : null;
        await FillAsync(cancel);
    }

    public async Task<IActionResult> OnPostMakeAsync(CancellationToken cancel)
    {
        var made = await makeFeed.RunAsync(viewer, Wanted() with { Detail = Known(Detail), HideCancelled = HideCancelled }, cancel);
        if (!made.Ok)
        {
            this.AddRefusal(viewer.KeepsDiary && string.IsNullOrEmpty(Subject) ? Refusal.Invalid(nameof(Subject), "Choose whose lessons it shows.") : made.Refusal);
            await FillAsync(cancel);
            return Page();
        }

        // Travels encrypted in a cookie to the page that shows it, and ends there.
        TempData[AddressKey] = FeedAddress.Of(made.Value.Secret, HttpContext.Request, configuration).Url;
        TempData["Done"] = "The address is made.";
        return Redirect("/calendars");
    }

    public async Task<IActionResult> OnPostRevokeAsync(Guid id, CancellationToken cancel)
    {
        var revoked = await revokeFeed.RunAsync(viewer, id, cancel);
        if (!revoked.Ok)
        {
            this.AddRefusal(revoked.Refusal);
            await FillAsync(cancel);
            return Page();
        }

        TempData["Done"] = "The address is revoked. Programs that subscribed to it get nothing more.";
        return Redirect("/calendars");
    }

    private static string Words(FeedDetail detail) => detail switch
    {
        FeedDetail.Full => "Names and places",
        FeedDetail.Area => "Initials and area only",
        FeedDetail.Busy => "Busy times only",
    };

    private static FeedDetail? Known(string? detail) => Enum.TryParse<FeedDetail>(detail, ignoreCase: true, out var known) && Enum.IsDefined(known) ? known : null;

    private static byte[] Png(string text)
    {
        using var generator = new QRCodeGenerator();
        using var code = generator.CreateQrCode(text, QRCodeGenerator.ECCLevel.M);
        using var png = new PngByteQRCode(code);
        return png.GetGraphic(PixelsPerModule);
    }

    // Who has nothing to choose is not asked: the address is for their own lessons.
    private FeedRequest Wanted() => (viewer.KeepsDiary || viewer is { InstructorId: not null, PupilId: not null } ? Subject : null)?.Split(':') switch
    {
        ["car", var id] when Guid.TryParse(id, out var car) => new(CarId: car),
        ["pupil", var id] when Guid.TryParse(id, out var pupil) => new(PupilId: pupil),
        ["instructor", var id] when Guid.TryParse(id, out var instructor) => new(InstructorId: instructor),
        _ when viewer.KeepsDiary => new(),
        _ => viewer.InstructorId is { } teaches ? new(InstructorId: teaches) : new(PupilId: viewer.PupilId),
    };

    private async Task FillAsync(CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var rows = await db.FeedsFor(viewer).AsNoTracking().OrderByDescending(f => f.Id).Take(MostShown).ToListAsync(cancel);
        var teachers = await instructors.NamesAsync(cancel);
        var learners = await pupils.CardsAsync(rows.Select(f => f.PupilId).OfType<Guid>(), cancel);
        var vehicles = (await cars.ReadAsync(facts.Zone, alsoRetired: true, cancel)).Cars;
        Feeds = rows.ConvertAll(f => new FeedLine(
            f.Id,
            f.InstructorId is { } instructor ? teachers.GetValueOrDefault(instructor, "")
                : f.PupilId is { } pupil ? learners.GetValueOrDefault(pupil)?.Name ?? ""
                : vehicles.FirstOrDefault(c => c.Id == f.CarId)?.Label ?? "",
            Words(f.Detail) + (f.HideCancelled ? ", no cancelled lessons" : ""),
            Moment(facts, f.CreatedAt),
            f.LastReadAt is { } read ? Moment(facts, read) : "not yet"));
        if (viewer.KeepsDiary)
        {
            Subjects =
            [
                .. (await instructors.ListAsync(alsoRetired: false, cancel)).Select(i => new SelectListItem(i.Name, $"instructor:{i.Id}")),
                .. vehicles.Where(c => c.RetiredOn is null).Select(c => new SelectListItem($"{c.Label}, {c.Plate}", $"car:{c.Id}")),
                .. viewer.PupilId is { } own ? [new SelectListItem("Your own lessons as a pupil", $"pupil:{own}")] : Array.Empty<SelectListItem>(),
            ];
        }
        else if (viewer is { InstructorId: { } teaches, PupilId: { } learns })
        {
            Subjects = [new("The lessons that you give", $"instructor:{teaches}"), new("Your own lessons as a pupil", $"pupil:{learns}")];
        }
    }

    private static string Moment(SchoolFacts facts, Instant moment)
    {
        var local = moment.InZone(facts.Zone);
        return $"{ScreenWords.Day(local.Date)}, {ScreenWords.Time(local.TimeOfDay, facts.TwelveHourClock)}";
    }

    internal sealed record FeedLine(Guid Id, string Of, string Shows, string Made, string Read);
}
