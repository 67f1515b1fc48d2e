using System.Globalization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Records.Retention;

/// <summary>What is kept and how long: each kind with its reason, what stands, what the next run takes, and what room all of it takes.</summary>
[Needs(Permission.ManageSchool)]
internal sealed class IndexModel(RetentionLook look, ChangeRetention change, Viewer viewer) : PageModel
{
    private const string Here = "/records/retention";
    private static readonly CultureInfo English = CultureInfo.GetCultureInfo("en-GB");

    [BindProperty]
    public int RowVersion { get; set; }

    /// <summary>Of what the school decides, in the order of the page.</summary>
    [BindProperty]
    public List<Chosen> Periods { get; set; } = [];

    public IReadOnlyList<KindNow> Kinds { get; private set; } = [];

    public IReadOnlyList<KindNow> Decided => [.. Kinds.Where(kind => kind.Rule.SchoolDecides)];

    public IReadOnlyList<KindNow> Fixed => [.. Kinds.Where(kind => !kind.Rule.SchoolDecides)];

    public long Octets { get; private set; }

    public IReadOnlyList<PartSize> Parts { get; private set; } = [];

    public long Due => Kinds.Sum(kind => kind.Due);

    public async Task OnGetAsync(CancellationToken cancel)
    {
        RowVersion = await LoadAsync(cancel);
        Periods = [.. Decided.Select(kind => new Chosen { Code = kind.Rule.Code, Days = kind.Days })];
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (ModelState.IsValid)
        {
            var changed = await change.RunAsync(viewer, new([.. Periods.Select(period => new RetentionPeriod(period.Code, period.Days))]), RowVersion, cancel);
            if (changed.Ok)
            {
                TempData["Done"] = "Saved. The next run keeps to it.";
                return LocalRedirect(Here);
            }

            this.AddRefusal(changed.Refusal);
        }

        await LoadAsync(cancel);
        return Periods.Select(period => period.Code).SequenceEqual(Decided.Select(kind => kind.Rule.Code)) ? Page() : LocalRedirect(Here);
    }

    public static string Count(long number) => number.ToString("N0", English);

    public static string Standing(KindNow kind) => $"{(kind.Estimated ? "about " : "")}{Count(kind.Standing)}";

    /// <summary>“2,374 days (6½ years)”.</summary>
    public static string Length(int days) => days < 365 ? days == 1 ? "1 day" : $"{Count(days)} days"
        : $"{Count(days)} days (about {(Math.Round(days / 365.25 * 2) / 2).ToString("0.#", English)} {(days < 500 ? "year" : "years")})";

    /// <summary>“1.4 GB”, “36 MB”, “0.2 MB”: by thousands, as disks are sold.</summary>
    public static string Room(long octets) => octets >= 1_000_000_000 ? $"{(octets / 1e9).ToString("0.0", English)} GB"
        : octets >= 10_000_000 ? $"{(octets / 1e6).ToString("0", English)} MB" : $"{(octets / 1e6).ToString("0.0", English)} MB";

    private async Task<int> LoadAsync(CancellationToken cancel)
    {
        (Kinds, var version) = await look.KindsAsync(cancel);
        (Octets, Parts) = await look.SizeAsync(cancel);
        return version;
    }

    internal sealed class Chosen
    {
        public string? Code { get; set; }

        public int? Days { get; set; }
    }
}
