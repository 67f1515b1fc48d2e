using System.Text.RegularExpressions;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Http.Json;
using Microsoft.AspNetCore.Mvc.ApiExplorer;
using Microsoft.AspNetCore.Mvc.Infrastructure;
using Microsoft.AspNetCore.OpenApi;
using Microsoft.Extensions.Options;
using Microsoft.Net.Http.Headers;
using Microsoft.OpenApi;
using School.Core;
using School.Web.Platform.Access;

namespace School.Web.Platform.Api.Document;

/// <summary>
/// Writes parameters, bodies, answers and schemas of the OpenAPI document from what the endpoints say of themselves: their types and
/// attributes, permissions, idempotency and problems. Nothing is listed by endpoint.
/// </summary>
internal sealed partial class ContractDocument(
    IOptions<JsonOptions> json, IEnumerable<ProblemMember> members, EndpointDataSource endpoints, IConfiguration configuration) : IOpenApiDocumentTransformer
{
    private const string ApplicationJson = "application/json";

    public Task TransformAsync(OpenApiDocument document, OpenApiDocumentTransformerContext context, CancellationToken cancellationToken)
    {
        document.Info = new()
        {
            Title = "School",
            Version = "v1",
            Description = "The diary, pupils, instructors and cars of a driving school. HEAD answers wherever GET does.",
        };
        document.Servers = [new() { Url = configuration["School:PublicUrl"]?.TrimEnd('/') is { Length: > 0 } address ? address : "/" }];
        document.Components = new()
        {
            SecuritySchemes = new Dictionary<string, IOpenApiSecurityScheme>
            {
                [AccessSetup.TokenScheme] = new OpenApiSecurityScheme { Type = SecuritySchemeType.Http, Scheme = "bearer", Description = "A token from POST /api/v1/tokens." },
            },
        };
        document.Security = [Bearer(document)];
        var schemas = new WireSchemas(document, json.Value.SerializerOptions, Descriptions.Of(document));
        var answers = new Answers(document, schemas, [.. members]);
        answers.AddProblem();
        foreach (var endpoint in context.DescriptionGroups.SelectMany(group => group.Items).Where(OpenApiSetup.IsTold))
        {
            var operation = document.Paths[PathOf(endpoint)].Operations![new HttpMethod(endpoint.HttpMethod!)];
            Write(operation, endpoint, document, schemas, answers);
        }

        return Task.CompletedTask;
    }

    private void Write(OpenApiOperation operation, ApiDescription endpoint, OpenApiDocument document, WireSchemas schemas, Answers answers)
    {
        var metadata = endpoint.ActionDescriptor.EndpointMetadata;
        var needs = metadata.OfType<NeedsAttribute>().ToList();
        if (needs.Count > 0)
        {
            operation.Description = $"{operation.Description} For: {string.Join(", ", Permissions.Who([.. needs.Select(n => n.Permission)]))}.".Trim();
            operation.Security = [Bearer(document)];
        }
        else if (metadata.OfType<IAllowAnonymous>().Any())
        {
            operation.Description = $"{operation.Description} For anybody.".Trim();
            operation.Security = [];
        }

        operation.Responses = answers.Of(endpoint);
        operation.Parameters = [.. Parameters(endpoint, operation, schemas)];
        if (endpoint.ParameterDescriptions.FirstOrDefault(p => p.Source.Id is "Body") is { } body)
        {
            operation.RequestBody = new OpenApiRequestBody
            {
                Required = body.IsRequired,
                Content = new Dictionary<string, OpenApiMediaType> { [ApplicationJson] = new() { Schema = Body(endpoint, body.Type, schemas) } },
            };
        }
    }

    private IOpenApiSchema Body(ApiDescription endpoint, Type written, WireSchemas schemas) =>
        endpoint.HttpMethod == HttpMethods.Put
            && endpoints.Endpoints.OfType<RouteEndpoint>().FirstOrDefault(e => e.RoutePattern.RawText!.Trim('/') == endpoint.RelativePath!.Trim('/')) is { } here
            && WhatWasRead.ReadOf(endpoints, here) is { } read && WhatWasRead.AnswerOf(read) is { } told
                ? schemas.Request(written, told)
                : schemas.Request(written);

    private static IEnumerable<IOpenApiParameter> Parameters(ApiDescription endpoint, OpenApiOperation operation, WireSchemas schemas)
    {
        foreach (var parameter in endpoint.ParameterDescriptions.Where(p => p.Source.Id is "Path" or "Query"))
        {
            var attributes = (parameter.ParameterDescriptor as IParameterInfoParameterDescriptor)?.ParameterInfo?.GetCustomAttributes(inherit: true) ?? [];
            var bounds = parameter.Name is "limit" && !attributes.OfType<BetweenAttribute>().Any() ? [new BetweenAttribute(1, PageRequest.Most)] : attributes;
            yield return new OpenApiParameter
            {
                Name = parameter.Name,
                In = parameter.Source.Id is "Path" ? ParameterLocation.Path : ParameterLocation.Query,
                Required = parameter.Source.Id is "Path" || parameter.IsRequired,
                Description = parameter.Name switch
                {
                    "limit" => "How many items at a time.",
                    "cursor" => "The `next` of the page before.",
                    _ => operation.Parameters?.FirstOrDefault(known => known.Name == parameter.Name)?.Description,
                },
                Schema = schemas.Parameter(parameter.Type, bounds),
            };
        }

        if (operation.Responses!.ContainsKey("412"))
        {
            // What stands there is changed with it; what is not there yet is made without.
            var makes = endpoint.HttpMethod == HttpMethods.Put && operation.Responses.ContainsKey("201");
            yield return Header(
                HeaderNames.IfMatch, makes ? "The ETag that reading this gave; left out where nothing stands there yet." : "The ETag that reading this gave.",
                operation.Responses.ContainsKey("428") && !makes);
        }

        if (endpoint.ActionDescriptor.EndpointMetadata.OfType<EventStreams>().Any())
        {
            yield return Header(EventStreams.LastEventId, "The id of the last event that was read: what came since is told first.", required: false);
        }
        else if (endpoint.HttpMethod == HttpMethods.Get)
        {
            yield return Header(HeaderNames.IfNoneMatch, "The ETag of the answer at hand; 304 when it is still the same.", required: false);
        }

        if (Idempotency.Takes(endpoint.ActionDescriptor.EndpointMetadata))
        {
            yield return Header(Idempotency.Header, "The same key with the same request has one effect and one answer. A UUID is a good one.", required: false, Idempotency.LongestKey);
        }
    }

    private static OpenApiParameter Header(string name, string description, bool required, int? longest = null) => new()
    {
        Name = name,
        In = ParameterLocation.Header,
        Required = required,
        Description = description,
        Schema = new OpenApiSchema { Type = JsonSchemaType.String, MinLength = longest is null ? null : 1, MaxLength = longest },
    };

    // What the document says of a route has no constraints in it.
    private static string PathOf(ApiDescription endpoint) => "/" + Constraint().Replace(endpoint.RelativePath!.Trim('/'), "}");

    [GeneratedRegex(@":[^}]+\}")]
    private static partial Regex Constraint();

    private static OpenApiSecurityRequirement Bearer(OpenApiDocument document) => new() { [new OpenApiSecuritySchemeReference(AccessSetup.TokenScheme, document)] = [] };
}
