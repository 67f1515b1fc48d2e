using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Syllabus.Mocks;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Syllabus.Skills;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Syllabus.Mocks;

/// <summary>One mock test: tapped together by staff, read by the pupil once it is finished.</summary>
[Needs(Permission.SeeLearning)]
internal sealed class DetailsModel(SchoolDb db, TapMockTest tapped, DiscardMockTest discard, DeviceRule device, PupilBook pupils, OwnPupils own, SchoolInfo school, Viewer viewer) : PageModel
{
    private SchoolFacts _school = null!;

    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    /// <summary>Whether a finished one is put right.</summary>
    [BindProperty(SupportsGet = true)]
    public bool Change { get; set; }

    [BindProperty]
    public bool NotSupervising { get; set; }

    [BindProperty]
    public int? EtaVerbal { get; set; }

    [BindProperty]
    public int? EtaPhysical { get; set; }

    [BindProperty]
    public string? Note { get; set; }

    public MockTest Mock { get; private set; } = null!;

    public PupilCard Card { get; private set; } = null!;

    public IReadOnlyList<MockTestChange> History { get; private set; } = [];

    public bool MayRecord => viewer.May(Permission.RecordLessons);

    /// <summary>Whether a lesson is on, and nobody has said yet that they do not supervise it.</summary>
    public bool Closed { get; private set; }

    public bool Editing => MayRecord && (Mock.FinishedAt is null || Change);

    public string? ChangeText => Change ? "true" : null;

    public string Back => Change ? MockWords.Address(Id) : $"/syllabus/mocks?pupil={Mock.PupilId}";

    public string Post(string handler) => $"{MockWords.Address(Id)}?handler={handler}{(Change ? "&change=true" : "")}";

    public string Moment(Instant at)
    {
        var local = at.InZone(_school.Zone);
        return $"{ScreenWords.Day(local.Date)}, {ScreenWords.Time(local.TimeOfDay, _school.TwelveHourClock)}";
    }

    public Task<IActionResult> OnGetAsync(CancellationToken cancel) => ShowAsync(fill: true, cancel);

    /// <param name="tap">The group in which it was tapped, the heading and the kind.</param>
    /// <param name="cancel">Stops.</param>
    public Task<IActionResult> OnPostTapAsync(string? tap, CancellationToken cancel) =>
        tap?.Split('|') is [var group, var heading, var word] && Enum.TryParse<FaultKind>(word, out var kind) && Enum.IsDefined(kind)
            ? DoAsync(() => tapped.RunAsync(viewer, Id, new MockTap.Fault(heading, kind), cancel), mock => $"Noted: {mock.Faults[^1].Words}.", $"#{group}-{heading}", cancel)
            : Task.FromResult<IActionResult>(BadRequest());

    public async Task<IActionResult> OnPostOpenAsync(CancellationToken cancel)
    {
        if (MayRecord && !NotSupervising)
        {
            ModelState.AddModelError(nameof(NotSupervising), $"Tick “{DeviceRule.Tick}”, or come back once the lesson is over.");
            return await ShowAsync(fill: true, cancel);
        }

        return await DoAsync(() => tapped.RunAsync(viewer, Id, new MockTap.Open(), cancel), _ => "The sheet is open.", "", cancel);
    }

    public Task<IActionResult> OnPostUndoAsync(CancellationToken cancel) =>
        DoAsync(() => tapped.RunAsync(viewer, Id, new MockTap.Undo(), cancel), _ => "The last fault is taken back.", "", cancel);

    public Task<IActionResult> OnPostRemoveAsync(int number, CancellationToken cancel) =>
        DoAsync(() => tapped.RunAsync(viewer, Id, new MockTap.Remove(number), cancel), _ => "The fault is removed.", "#faults", cancel);

    public Task<IActionResult> OnPostNoteAsync(int number, string? note, CancellationToken cancel) =>
        DoAsync(() => tapped.RunAsync(viewer, Id, new MockTap.Wording(number, note), cancel), _ => "The note is kept.", "#faults", cancel);

    public async Task<IActionResult> OnPostFinishAsync(CancellationToken cancel)
    {
        if (!MayRecord)
        {
            return Forbid();
        }

        if (ModelState.IsValid)
        {
            var done = await tapped.RunAsync(viewer, Id, new MockTap.Finish(EtaVerbal ?? 0, EtaPhysical ?? 0, Note), cancel);
            if (done.Ok)
            {
                TempData["Done"] = $"The mock test is kept. {done.Value.Sum.Verdict(soFar: false)}.";
                return LocalRedirect(MockWords.Address(Id));
            }

            this.AddRefusal(done.Refusal);
        }

        return await ShowAsync(fill: false, cancel);
    }

    public async Task<IActionResult> OnPostDiscardAsync(CancellationToken cancel)
    {
        if (!MayRecord)
        {
            return Forbid();
        }

        var gone = await discard.RunAsync(viewer, Id, cancel);
        if (gone.Ok)
        {
            TempData["Done"] = "The mock test is thrown away.";
            return LocalRedirect($"/syllabus/mocks?pupil={gone.Value.PupilId}");
        }

        this.AddRefusal(gone.Refusal);
        return await ShowAsync(fill: true, cancel);
    }

    private async Task<IActionResult> DoAsync(Func<Task<Outcome<MockTest>>> verb, Func<MockTest, string> done, string anchor, CancellationToken cancel)
    {
        if (!MayRecord)
        {
            return Forbid();
        }

        var outcome = await verb();
        if (outcome.Ok)
        {
            TempData["Done"] = done(outcome.Value);
            return LocalRedirect($"{MockWords.Address(Id)}{(Change ? "?change=true" : "")}{anchor}");
        }

        ModelState.Clear();
        ModelState.AddModelError("", outcome.Refusal.For(Viewer.From(User)));
        return await ShowAsync(fill: true, cancel);
    }

    private async Task<IActionResult> ShowAsync(bool fill, CancellationToken cancel)
    {
        if (await db.Set<MockTest>().AsNoTracking().VisibleTo(viewer).SingleOrDefaultAsync(m => m.Id == Id, cancel) is not { } mock
            || await pupils.FindAsync(mock.PupilId, viewer, cancel) is not { } card)
        {
            return NotFound();
        }

        if (await own.RefuseUnseenAsync(viewer, mock.PupilId, cancel) is not null)
        {
            return LocalRedirect($"{OwnPupils.PageOf(mock.PupilId)}?to={Uri.EscapeDataString(MockWords.Address(Id))}");
        }

        (Mock, Card, _school) = (mock, card, await school.GetAsync(cancel));
        Closed = Editing && await device.IsClosedAsync(viewer, mock, cancel);
        if (viewer.Towards(mock.PupilId).KeepsLearning)
        {
            History = await db.Set<MockTestChange>().AsNoTracking().Where(c => c.MockTestId == Id).OrderBy(c => c.At).ThenBy(c => c.Id).ToListAsync(cancel);
        }

        if (fill)
        {
            (EtaVerbal, EtaPhysical, Note) = (Zero(mock.EtaVerbal), Zero(mock.EtaPhysical), mock.Note);
        }

        return Page();
    }

    private static int? Zero(int count) => count == 0 ? null : count;
}
