using Microsoft.AspNetCore.Mvc.ApiExplorer;
using Microsoft.AspNetCore.OpenApi;
using Microsoft.OpenApi;
using School.Web.Platform.Api.Document;

namespace School.Web.Platform.Api;

/// <summary>The OpenAPI 3.1 document of the API.</summary>
internal static class OpenApiSetup
{
    public const string Document = "v1";

    public static void Configure(OpenApiOptions options)
    {
        options.OpenApiVersion = OpenApiSpecVersion.OpenApi3_1;
        options.ShouldInclude = IsTold;
        options.AddSchemaTransformer(Descriptions.Note);
        options.AddDocumentTransformer<ContractDocument>();
    }

    public static bool IsTold(ApiDescription description) => description.RelativePath?.StartsWith("api/v1/", StringComparison.Ordinal) == true;
}
