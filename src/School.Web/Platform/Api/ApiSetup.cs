using System.Text.Json;
using Microsoft.AspNetCore.Diagnostics;
using Microsoft.OpenApi;
using School.Web.Platform.Errors;

namespace School.Web.Platform.Api;

internal static class ApiSetup
{
    public const string Prefix = "/api/v1";

    public static IServiceCollection AddApi(this IServiceCollection services)
    {
        services.ConfigureHttpJsonOptions(options => Json.Configure(options.SerializerOptions));
        services.Configure<RouteHandlerOptions>(options => options.ThrowOnBadRequest = true);
        services.AddProblemDetails();
        services.AddOpenApi("v1", options => options.OpenApiVersion = OpenApiSpecVersion.OpenApi3_1);
        return services;
    }

    /// <summary>The group that every endpoint of the API joins.</summary>
    public static RouteGroupBuilder MapApi(this IEndpointRouteBuilder app, string resource) =>
        app.MapGroup($"{Prefix}/{resource}").WithTags(resource);

    public static bool IsApi(this HttpContext context) => context.Request.Path.StartsWithSegments("/api/v1");

    /// <summary>What could not be read becomes 400 with a sentence; anything else becomes 500 without its secrets.</summary>
    public static async Task AnswerExceptionAsync(HttpContext context)
    {
        var exception = context.Features.Get<IExceptionHandlerFeature>()?.Error;
        if (exception is BadHttpRequestException { StatusCode: StatusCodes.Status413PayloadTooLarge })
        {
            await AnswerTooLargeAsync(context);
            return;
        }

        if (exception is BadHttpRequestException bad)
        {
            var json = bad.InnerException as JsonException;
            var field = json?.Path?.TrimStart('$', '.') is { Length: > 0 } path ? path : "body";
            var sentence = json is null ? Plain(bad.Message) : Sentence(json);
            await Refusal.Invalid(field, sentence).ToProblem().ExecuteAsync(context);
            return;
        }

        await Results.Problem(
            statusCode: StatusCodes.Status500InternalServerError,
            title: "Something went wrong on our side",
            detail: "Nothing was changed. Try again; if it happens again, tell the office the number below.",
            extensions: new Dictionary<string, object?> { ["code"] = "our_fault", ["reference"] = context.TraceIdentifier }).ExecuteAsync(context);
    }

    public static Task AnswerTooLargeAsync(HttpContext context) =>
        Results.Problem(statusCode: 413, title: "Too large", detail: "That is more than this takes at once. Send less.", extensions: Code("too_large"))
            .ExecuteAsync(context);

    private static string Sentence(JsonException json) =>
        json.Message.Contains("could not be mapped", StringComparison.Ordinal) ? "There is no such member here."
        : json.Message.Contains("missing required", StringComparison.Ordinal) ? Plain(json.Message)
        : json.Message.StartsWith("Give ", StringComparison.Ordinal) ? json.Message
        : "This value cannot be read. Look at its form in the API reference.";

    private static string Plain(string message) => message.Split(" Path:")[0];

    private static Dictionary<string, object?> Code(string code) => new() { ["code"] = code };
}
