using System.ComponentModel.DataAnnotations;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.ModelBinding;
using Microsoft.AspNetCore.Mvc.ModelBinding.Metadata;
using NodaTime;

namespace School.Web.Platform.Forms;

/// <summary>How forms read dates and times, and the sentences they answer with.</summary>
internal static class FormSetup
{
    /// <summary>Stands in a sentence for the label of its field, which only the page knows.</summary>
    private const string Field = "‹field›";

    /// <summary>The same within a sentence, so without its capital.</summary>
    private const string InSentence = "‹the field›";

    private const string FillIn = "Enter " + InSentence + ".";
    private const string Number = Field + ": enter a number, such as 60";
    private const string NotUsable = Field + ": this value cannot be used here";

    /// <summary>The sentence of an error as a person reads it.</summary>
    public static string Sentence(ModelError error, string? label)
    {
        var sentence = error.ErrorMessage.Length > 0 ? error.ErrorMessage : NotUsable;
        return label is null
            ? sentence.Replace(FillIn, "Fill this in.", StringComparison.Ordinal).Replace(Field + ": ", "", StringComparison.Ordinal)
            : sentence.Replace(Field, label, StringComparison.Ordinal).Replace(InSentence, WithoutCapital(label), StringComparison.Ordinal);
    }

    /// <summary>Abbreviations such as MOT keep theirs.</summary>
    private static string WithoutCapital(string label) =>
        label.Length > 1 && char.IsUpper(label[1]) ? label : char.ToLowerInvariant(label[0]) + label[1..];

    public static void Apply(MvcOptions options)
    {
        options.ModelBinderProviders.Insert(0, new OwnBinders());
        options.ModelMetadataDetailsProviders.Add(new SuppressChildValidationMetadataProvider(typeof(LocalDate)));
        options.ModelMetadataDetailsProviders.Add(new SuppressChildValidationMetadataProvider(typeof(LocalTime)));
        options.ModelMetadataDetailsProviders.Add(new SuppressChildValidationMetadataProvider(typeof(Pounds)));
        options.ModelMetadataDetailsProviders.Add(new RequiredSentences());

        var sentences = options.ModelBindingMessageProvider;
        sentences.SetValueMustNotBeNullAccessor(_ => FillIn);
        sentences.SetMissingBindRequiredValueAccessor(_ => FillIn);
        sentences.SetMissingKeyOrValueAccessor(() => FillIn);
        sentences.SetMissingRequestBodyRequiredValueAccessor(() => "Nothing was sent");
        sentences.SetValueMustBeANumberAccessor(_ => Number);
        sentences.SetNonPropertyValueMustBeANumberAccessor(() => Number);
        sentences.SetAttemptedValueIsInvalidAccessor((value, _) => NotUnderstood(value));
        sentences.SetNonPropertyAttemptedValueIsInvalidAccessor(NotUnderstood);
        sentences.SetValueIsInvalidAccessor(NotUnderstood);
        sentences.SetUnknownValueIsInvalidAccessor(_ => NotUsable);
        sentences.SetNonPropertyUnknownValueIsInvalidAccessor(() => NotUsable);
    }

    private static string NotUnderstood(string value) =>
        string.IsNullOrWhiteSpace(value) ? FillIn : $"{Field}: “{value}” cannot be used here";

    private sealed class OwnBinders : IModelBinderProvider
    {
        private readonly LocalDateBinder dates = new();
        private readonly LocalTimeBinder times = new();
        private readonly PoundsBinder pounds = new();

        public IModelBinder? GetBinder(ModelBinderProviderContext context)
        {
            var type = context.Metadata.UnderlyingOrModelType;
            return type == typeof(LocalDate) ? dates : type == typeof(LocalTime) ? times : type == typeof(Pounds) ? pounds : null;
        }
    }

    private sealed class RequiredSentences : IValidationMetadataProvider
    {
        public void CreateValidationMetadata(ValidationMetadataProviderContext context)
        {
            foreach (var required in context.ValidationMetadata.ValidatorMetadata.OfType<RequiredAttribute>())
            {
                if (required.ErrorMessage is null && required.ErrorMessageResourceName is null)
                {
                    required.ErrorMessage = FillIn;
                }
            }
        }
    }
}
