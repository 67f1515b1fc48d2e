using School.Tests;

namespace School.Clients.Tests;

/// <summary>
/// Clients are generated from the document alone, compiled as strictly as their compilers can, and drive a school: token, search, book,
/// move, cancel, feed, record, progress, mock test, forecast.
/// </summary>
public sealed class ClientTests(TestPostgres postgres)
{
    private static readonly string[] Steps =
        ["token", "search", "book", "taken", "move", "cancel", "feed", "record", "progress", "mock test", "forecast"];

    [Fact]
    public async Task A_strict_TypeScript_client_drives_the_school()
    {
        await using var school = await DrivenSchool.StartAsync(postgres);
        school.Copy("typescript");
        var folder = school.Folder.FullName;
        await Tool.RunAsync(folder, "npm", "ci", "--no-fund", "--no-audit", "--prefer-offline");
        await Tool.RunAsync(folder, "npx", "openapi-typescript", "openapi.json", "-o", "school.d.ts");
        await Tool.RunAsync(folder, "npx", "tsc", "--project", "tsconfig.json");
        Assert.Equal(Steps, Lines(await Tool.RunAsync(folder, "node", ["drive.js", .. school.Arguments])));
    }

    [Fact]
    public async Task A_DotNet_client_drives_the_school()
    {
        await using var school = await DrivenSchool.StartAsync(postgres);
        school.Copy("dotnet");
        var folder = school.Folder.FullName;
        await Tool.RunAsync(
            Tool.Repository(), "dotnet", "nswag", "openapi2csclient", $"/input:{school.Document}", $"/output:{Path.Combine(folder, "SchoolClient.cs")}",
            "/namespace:Larkfield.Client", "/className:SchoolClient", "/jsonLibrary:SystemTextJson", "/useBaseUrl:false", "/operationGenerationMode:SingleClientFromOperationId",
            "/generateNullableReferenceTypes:true", "/generateOptionalPropertiesAsNullable:true", "/generateOptionalParameters:true", "/dateType:System.DateOnly", "/wrapResponses:true");
        await Tool.RunAsync(folder, "dotnet", "build", "Drive.csproj", "--nologo", "--verbosity", "quiet");
        Assert.Equal(Steps, Lines(await Tool.RunAsync(folder, "dotnet", [Path.Combine(folder, "out", "Drive.dll"), .. school.Arguments])));
    }

    private static IEnumerable<string> Lines(string said) => said.Split('\n', StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries);
}
