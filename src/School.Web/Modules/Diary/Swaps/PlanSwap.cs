using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Swaps;

/// <summary>
/// Proposes that two lessons change places, and asks the pupils who have not agreed by phone. Moves nothing. Where it does not fit, nobody is asked: the lines say why.
/// </summary>
internal sealed class PlanSwap(SchoolDb db, MakeProposal make, SwapRules rules, SwapMail mail, IClock clock)
{
    public Task<Outcome<Proposal>> RunAsync(Viewer viewer, SwapRequest request, CancellationToken cancel) => db.InTransactionAsync<Proposal>(
        async cancel =>
        {
            if (request.Agreed is { } named && (named.Count > SwapRequest.Lessons || named.Except(request.Both).Any()))
            {
                return Refusal.Invalid(nameof(request.Agreed), "Name no lessons but the two of this swap.");
            }

            if (await WrongAsync(viewer, request, cancel) is { } unseen)
            {
                return unseen;
            }

            await rules.LockAsync(request, [], cancel);
            // Anew under the locks: by now they may be somebody else's, or over.
            if (await WrongAsync(viewer, request, cancel) is { } wrong)
            {
                return wrong;
            }

            if (await db.Set<SwapAnswer>().Where(a => a.Open && request.Both.Contains(a.LessonId)).Select(a => (Guid?)a.ProposalId).FirstOrDefaultAsync(cancel) is { } open)
            {
                return SwapRefusals.Open(open);
            }

            var (now, agreed) = (clock.GetCurrentInstant(), request.Agreed?.Distinct().ToList() ?? []);
            var both = agreed.Count == SwapRequest.Lessons;
            var first = await db.Set<Lesson>().Where(l => request.Both.Contains(l.Id)).MinAsync(l => l.StartsAt, cancel);
            var lapses = SwapTimes.Lapse(now, first, both);
            if (lapses <= now)
            {
                return SwapRefusals.TooLate;
            }

            var made = await make.AddAsync(viewer, new(ProposalKind.Swap, request with { Agreed = null }), cancel);
            if (made.Ok && made.Value.LinesOf().All(line => line.Act is ProposalAct.Move))
            {
                await AskAsync(viewer, made.Value, agreed, lapses, now, cancel);
            }

            return made;
        },
        cancel);

    private async Task<Refusal?> WrongAsync(Viewer viewer, SwapRequest request, CancellationToken cancel)
    {
        var lessons = await db.Set<Lesson>().AsNoTracking().KeptBy(viewer).Where(l => request.Both.Contains(l.Id)).ToListAsync(cancel);
        return request.Both.Any(id => lessons.TrueForAll(l => l.Id != id)) ? Refusal.NotFound("lesson")
            : request.LessonId == request.WithLessonId ? SwapRefusals.SameLesson
            : lessons[0].PupilId == lessons[1].PupilId ? SwapRefusals.SamePupil
            : lessons[0].NotOpen("swapped") ?? lessons[1].NotOpen("swapped") ?? (lessons.Exists(l => l.StartsAt <= clock.GetCurrentInstant()) ? SwapRefusals.Begun : null);
    }

    private async Task AskAsync(Viewer viewer, Proposal proposal, List<Guid> agreed, Instant lapses, Instant now, CancellationToken cancel)
    {
        foreach (var lesson in SwapRules.MoreOf(proposal).Before)
        {
            var secret = SwapAnswer.NewSecret();
            var answer = new SwapAnswer
            {
                ProposalId = proposal.Id,
                LessonId = lesson.LessonId,
                PupilId = lesson.PupilId,
                LapsesAt = lapses,
                SecretHash = SwapAnswer.HashOf(secret),
            };
            db.Add(answer);
            if (agreed.Contains(lesson.LessonId))
            {
                answer.Answer(SwapReply.Agreed, SwapHow.Phone, viewer, now);
            }
            else
            {
                await mail.AskAsync(answer, lesson, secret, cancel);
            }
        }
    }
}
