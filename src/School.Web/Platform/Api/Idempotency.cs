using System.Security.Cryptography;
using System.Text;
using Microsoft.AspNetCore.DataProtection;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Platform.Api;

/// <summary>An answer that was given to a key, kept so that a repeat gets the same one.</summary>
internal sealed class IdempotentAnswer
{
    public required Guid PersonId { get; init; }

    public required string Key { get; init; }

    public required string RequestHash { get; init; }

    public required int Status { get; init; }

    public required string? ContentType { get; init; }

    public required string? Location { get; init; }

    public required string? ETag { get; init; }

    /// <summary>Encrypted: an answer may tell a secret that is kept nowhere else, such as the address of a feed.</summary>
    public required byte[] Body { get; init; }

    public required Instant At { get; init; }

    internal sealed class Configuration : IEntityTypeConfiguration<IdempotentAnswer>
    {
        public void Configure(EntityTypeBuilder<IdempotentAnswer> entity)
        {
            entity.ToTable("idempotent_answers", "platform");
            entity.HasKey(a => new { a.PersonId, a.Key });
            entity.HasIndex(a => a.At);
        }
    }
}

/// <summary>
/// The Idempotency-Key header (IETF draft): the effect and the kept answer commit together, so a repeat, also through another
/// node or after a crash, has no second effect and reads the same answer. Same key with another request is 422.
/// </summary>
internal static class Idempotency
{
    public const string Header = "Idempotency-Key";
    public static readonly Duration Kept = Duration.FromDays(2);
    public const string Replayed = "Idempotency-Replayed";
    public const int LongestKey = 200;

    public static TBuilder WithIdempotency<TBuilder>(this TBuilder endpoint)
        where TBuilder : IEndpointConventionBuilder => endpoint.WithMetadata(new TakesIdempotencyKey());

    public static bool Takes(IEnumerable<object> metadata) => metadata.OfType<ITakesIdempotencyKey>().Any();

    /// <summary>Runs after authorisation, around the endpoint.</summary>
    public static IApplicationBuilder UseIdempotency(this IApplicationBuilder app) => app.Use(async (context, next) =>
    {
        if (context.GetEndpoint() is not { } endpoint || !Takes(endpoint.Metadata)
            || HttpMethods.IsGet(context.Request.Method) || HttpMethods.IsHead(context.Request.Method)
            || context.Request.Headers[Header] is not [{ } raw]
            || Viewer.From(context.User) is not { } viewer)
        {
            await next(context);
            return;
        }

        var key = raw.Trim().Trim('"');
        if (key.Length is 0 or > LongestKey)
        {
            await Refusal.Invalid(Header, $"An idempotency key has 1 to {LongestKey} characters; a UUID is a good one.").ToProblem().ExecuteAsync(context);
            return;
        }

        var cancel = context.RequestAborted;
        var (body, hash) = await ReadAsync(context.Request, cancel);
        await using var answer = await Clashes.TryAgainAsync(() => RunAsync(context, next, new(viewer.PersonId, key, hash), body, cancel), cancel);
        await answer.SendAsync();
    });

    /// <summary>
    /// The whole endpoint in one transaction, together with the kept answer. Nothing of the answer has left when that commits, so
    /// after a clash the endpoint may run again from the body that was kept.
    /// </summary>
    private static async Task<HeldAnswer> RunAsync(HttpContext context, RequestDelegate next, Asked asked, byte[] body, CancellationToken cancel)
    {
        var held = new HeldAnswer(context, body);
        try
        {
            var db = held.Context.RequestServices.GetRequiredService<SchoolDb>();
            await using var transaction = await db.Database.BeginTransactionAsync(cancel);
            var together = new ReadTogether(db);
            together.Lock([$"idempotency:{asked.PersonId}:{asked.Key}"]);
            var kept = together.Ask(db.Set<IdempotentAnswer>().AsNoTracking().Where(a => a.PersonId == asked.PersonId && a.Key == asked.Key));
            together.SaveFor(transaction);
            await together.RunAsync(cancel);
            if (kept.All is [var known])
            {
                await (known.RequestHash == asked.Hash
                    ? ReplayAsync(held.Context, known)
                    : Refusal.Rule("key_used_before", "This idempotency key was used for a different request. Use a new one.").ToProblem().ExecuteAsync(held.Context));
                return held;
            }

            await next(held.Context);
            await held.FinishAsync();
            if (IsAnswer(held.Context))
            {
                db.ChangeTracker.Clear();
                db.Add(ToKeep(held, asked));
                await db.SaveChangesAsync(cancel);
                await transaction.CommitAsync(cancel);
            }

            return held;
        }
        catch
        {
            await held.DisposeAsync();
            throw;
        }
    }

    private static IdempotentAnswer ToKeep(HeldAnswer held, Asked asked) => new()
    {
        PersonId = asked.PersonId,
        Key = asked.Key,
        RequestHash = asked.Hash,
        Status = held.Context.Response.StatusCode,
        ContentType = held.Context.Response.ContentType,
        Location = held.Context.Response.Headers.Location,
        ETag = held.Context.Response.Headers.ETag,
        Body = Protector(held.Context).Protect(held.Body.ToArray()),
        At = held.Context.RequestServices.GetRequiredService<IClock>().GetCurrentInstant(),
    };

    /// <summary>
    /// An error of ours is none, and neither is a question for the right version: the same key may try again. A page that says 400
    /// has not looked at the form at all: its antiforgery token was missing or too old.
    /// </summary>
    private static bool IsAnswer(HttpContext context) =>
        context.Response.StatusCode is < StatusCodes.Status500InternalServerError and not StatusCodes.Status412PreconditionFailed
            and not StatusCodes.Status428PreconditionRequired and var status
        && (status != StatusCodes.Status400BadRequest || context.IsApi());

    private static async Task<(byte[] Body, string Hash)> ReadAsync(HttpRequest request, CancellationToken cancel)
    {
        using var kept = new MemoryStream();
        await request.Body.CopyToAsync(kept, cancel);
        var body = kept.ToArray();
        using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        hash.AppendData(Encoding.UTF8.GetBytes($"{request.Method} {request.Path}{request.QueryString}\n"));
        hash.AppendData(body);
        return (body, Convert.ToHexStringLower(hash.GetHashAndReset()));
    }

    private static async Task ReplayAsync(HttpContext context, IdempotentAnswer answer)
    {
        context.Response.StatusCode = answer.Status;
        context.Response.ContentType = answer.ContentType;
        context.Response.Headers[Replayed] = "true";
        if (answer.Location is not null)
        {
            context.Response.Headers.Location = answer.Location;
        }

        if (answer.ETag is not null)
        {
            context.Response.Headers.ETag = answer.ETag;
        }

        await context.Response.Body.WriteAsync(Protector(context).Unprotect(answer.Body), context.RequestAborted);
    }

    private static IDataProtector Protector(HttpContext context) =>
        context.RequestServices.GetRequiredService<IDataProtectionProvider>().CreateProtector("School.IdempotentAnswers.v1");

    /// <summary>Who asked what under which key.</summary>
    private sealed record Asked(Guid PersonId, string Key, string Hash);

    private sealed record TakesIdempotencyKey : ITakesIdempotencyKey;
}

/// <summary>Metadata of an endpoint or page whose answers are kept under the key that came with the request.</summary>
internal interface ITakesIdempotencyKey;
